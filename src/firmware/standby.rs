//! Off: what the assembly of standby says.

use serde::Serialize;

use crate::plan::Plan;
use crate::spec::{ButtonTo, Starts};
use crate::target::Write;
use crate::units::Time;

pub(super) const TEMPLATE: (&str, &str) = (
    "standby.S",
    include_str!("../../templates/avr/standby.S.j2").trim_ascii_end(),
);

/// Standby in words and numbers.
#[derive(Debug, Serialize)]
pub struct StandbyText {
    /// Ends the light.
    quiet: Vec<Line>,
    /// Turn the watchdog off; empty: there is none.
    watchdog: Vec<Line>,
    held: Held,
    /// Let through what wakes it.
    allow: Vec<Line>,
    /// Just before a sleep.
    sleep: Vec<Line>,
    /// When power comes, the light is off: the register that tells what has started the chip, and its bits of
    /// all but the watchdog. `None`: it is on.
    starts_dark: Option<Causes>,
}

#[derive(Debug, Serialize)]
struct Causes {
    register: &'static str,
    bits: Vec<&'static str>,
    value: u8,
}

/// A register and what is written into it.
#[derive(Debug, Serialize)]
struct Line {
    store: &'static str,
    register: &'static str,
    value: u8,
    /// The names of the bits.
    bits: String,
}

/// How the button is waited for until it is let go.
#[derive(Debug, Serialize)]
struct Held {
    /// The instruction that skips the next one while it is up.
    skip: &'static str,
    input: String,
    bit: u8,
    /// How often it is looked at, counted up to 0, and cycles of doing nothing between.
    low: u8,
    high: u8,
    idle: Vec<()>,
    time: String,
}

/// Cycles from one look at the button to the next: the skip, an addition, a branch; and of each jump to the
/// next instruction that is put between.
const LOOK: u32 = 6;
const IDLE: u32 = 2;

impl StandbyText {
    /// `None`: the project has none.
    pub fn new(plan: &Plan) -> Option<Self> {
        let standby = plan.standby.as_ref()?;
        let target = plan.target();
        let off = target.no_watchdog();
        let starts_dark = standby.starts == Starts::Dark;
        let causes = starts_dark
            .then(|| target.power_causes())
            .map(|causes| Causes {
                register: causes.register,
                bits: causes.bits,
                value: causes.value,
            });
        let watchdog = plan.watchdog.as_ref().map(|_| {
            // First it forgets a reset that it has made, which would keep it on.
            [off.flags, off.off.unlock, off.off.write]
        });
        Some(Self {
            quiet: plan.drive.quiet(target).iter().map(Line::new).collect(),
            watchdog: watchdog.iter().flatten().map(Line::new).collect(),
            held: Held::new(plan)?,
            allow: standby.waking.allow.iter().map(Line::new).collect(),
            sleep: standby.sleep.iter().map(Line::new).collect(),
            starts_dark: causes,
        })
    }
}

impl Line {
    fn new(write: &Write) -> Self {
        Self {
            store: write.reach.store(),
            register: write.register,
            value: write.value,
            bits: write.bits.join(", "),
        }
    }
}

impl Held {
    fn new(plan: &Plan) -> Option<Self> {
        let button = plan.button.as_ref()?;
        let standby = plan.standby.as_ref()?;
        let wanted = standby.debounce.seconds() * plan.clock.frequency.0;
        let beyond = wanted / f64::from(u16::MAX) - f64::from(LOOK);
        let idle = (beyond / f64::from(IDLE)).ceil().max(0.0) as u32;
        let look = LOOK + IDLE * idle;
        let looks = (wanted / f64::from(look))
            .ceil()
            .clamp(1.0, f64::from(u16::MAX)) as u16;
        let [low, high] = looks.wrapping_neg().to_le_bytes();
        let seconds = f64::from(looks) * f64::from(look) / plan.clock.frequency.0;
        Some(Self {
            skip: match standby.button {
                ButtonTo::Ground => "sbis",
                ButtonTo::Supply => "sbic",
            },
            input: button.input.clone(),
            bit: button.pin.bit,
            low,
            high,
            idle: vec![(); idle as usize],
            time: Time((seconds * 1e3).round() as u64 * 1_000_000).to_string(),
        })
    }
}
