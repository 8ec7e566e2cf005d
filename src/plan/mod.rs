//! Fits a project to its chip: which timer drives which string, how fast, from which clock, and what
//! the firmware must write into which register to get there.
//!
//! All timers run 8-bit PWM with TOP 255, one prescaler and in phase, so that one overflow interrupt
//! serves them all. Depth beyond 8 bits is spread over time by that interrupt, see [`PwmPlan`].

mod channels;
mod clock;
mod fuses;
mod pins;
mod pump;
mod pwm;
mod tick;
mod timers;
mod watchdog;

use serde::Serialize;

use crate::chip::{self, Chip, Pin, Polarity, Reach};
use crate::diagnostic::{Diagnostic, Severity, Span};
use crate::spec::{Active, ClockSource, Project};
use crate::units::{Hertz, Share, Time, Volts};

pub use tick::Tick;

/// A project fitted to its chip.
#[derive(Debug, Clone)]
pub struct Plan {
    pub chip: &'static Chip,
    pub clock: ClockPlan,
    /// By [`ChannelId`](crate::spec::ChannelId).
    pub channels: Vec<ChannelPlan>,
    /// The timers in use, lowest number first; the first one's interrupt does all the work.
    pub timers: Vec<TimerPlan>,
    /// Data direction bits of everything the firmware drives, by port.
    pub directions: Vec<PortMask>,
    pub start: StartPlan,
    pub pwm: PwmPlan,
    pub interrupt: InterruptPlan,
    pub tick: Tick,
    pub pump: Option<PumpPlan>,
    pub button: Option<PinPlan>,
    pub watchdog: Option<WatchdogPlan>,
    /// Low byte first. What to program, and why.
    pub fuses: Vec<FusePlan>,
    /// What the person should know although it can be built.
    pub cautions: Vec<Diagnostic>,
}

/// A register and what to write into it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Assign {
    pub register: &'static str,
    /// The bits to set, by name. Empty: `value` is a plain number.
    pub bits: Vec<&'static str>,
    /// What those bits come to.
    pub value: u8,
    pub reach: Reach,
}

/// Where the processor's clock comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockPlan {
    pub frequency: Hertz,
    pub source: ClockSource,
    /// What the source runs at before the prescaler.
    pub oscillator: Hertz,
    /// The firmware must write this into `CLKPR` (after `CLKPCE`) before all else: log2 of the divisor.
    pub prescaler_bits: Option<u8>,
    /// How far off the frequency may be, either way.
    pub accuracy: Share,
    /// The lowest supply the datasheet allows at this clock.
    pub least_supply: Volts,
}

/// A string of lights on its timer output.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelPlan {
    pub pin: Pin,
    pub active: Active,
    pub polarity: Polarity,
    /// The timer's number.
    pub timer: u8,
    /// `OC0A`.
    pub output: &'static str,
    /// The register to write 255 − on-time into.
    pub compare: &'static str,
    pub reach: Reach,
}

/// A timer in use.
#[derive(Debug, Clone, PartialEq)]
pub struct TimerPlan {
    pub number: u8,
    /// A compare value of 0 lights an inverting output for all 256 counts, not for 255.
    pub full_at_zero: bool,
    /// Set before `start`: modes, outputs, TOP.
    pub setup: Vec<Assign>,
    /// The count it starts at, so that all timers come out in phase.
    pub preset: Assign,
}

/// How the timers are set going, in this order: `reset`, if any, then all of `go`, one straight after
/// the other with values already in registers and interrupts off.
#[derive(Debug, Clone, PartialEq)]
pub struct StartPlan {
    /// Resets the prescaler, so that all timers see the same next edge of it.
    pub reset: Option<Assign>,
    /// Gives the timers their clock.
    pub go: Vec<Assign>,
}

/// What the PWM comes to.
///
/// Fast: on for n of 256 counts, n = 255 − compare. Phase-correct: on for 2n of 510. Each channel
/// adds its 8-bit fraction to an accumulator every overflow and carries one count of on-time, so the
/// average has `8 + extra_bits` bits when only the fraction's upper `extra_bits` are used.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PwmPlan {
    pub mode: Mode,
    pub prescaler: u16,
    /// Of one PWM period, and of the overflow interrupt.
    pub frequency: Hertz,
    /// Timer counts in a period: 256 or 510.
    pub period: u16,
    /// On-counts that mean the whole period: 256 or 255.
    pub whole: u16,
    /// Bits of depth that are spread over time, 0 to 8.
    pub extra_bits: u8,
    /// The slowest component of the light at any level: frequency / 2^extra_bits.
    pub slowest: Hertz,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mode {
    Fast,
    PhaseCorrect,
}

/// The overflow interrupt that does the work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InterruptPlan {
    /// As avr-libc names it.
    pub vector: &'static str,
    pub number: u8,
    /// Lets it through.
    pub enable: Assign,
}

/// Two pins that toggle in opposite phase, in the overflow interrupt.
#[derive(Debug, Clone, PartialEq)]
pub struct PumpPlan {
    pub pins: [PinPlan; 2],
    /// Both pins.
    pub mask: u8,
    /// Toggle every so many overflows, a power of two.
    pub every: u8,
    pub clock: Hertz,
    /// What the project asked for.
    pub wish: Hertz,
    /// Write `mask` to this register to toggle…
    pub toggle: &'static str,
    pub reach: Reach,
    /// …or exclusive-or it into the register, on chips where `PINx` only reads.
    pub by_xor: bool,
}

/// A pin and the registers of its port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PinPlan {
    pub pin: Pin,
    pub port: String,
    pub direction: String,
    pub input: String,
}

/// Bits of one port.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PortMask {
    pub port: char,
    /// `DDRB`.
    pub register: String,
    pub mask: u8,
}

/// The watchdog's setting.
#[derive(Debug, Clone, PartialEq)]
pub struct WatchdogPlan {
    /// Into the watchdog register, next to its enable bit.
    pub bits: Vec<&'static str>,
    pub time: Time,
    pub wish: Time,
}

/// A fuse byte to program.
#[derive(Debug, Clone, PartialEq)]
pub struct FusePlan {
    /// `low`, `high`, `extended`.
    pub name: &'static str,
    /// avrdude's name of it.
    pub memory: &'static str,
    pub value: u8,
    pub factory: u8,
    /// Why it is what it is.
    pub reason: String,
}

impl FusePlan {
    /// Whether the delivered chip has another value.
    pub fn must_change(&self) -> bool {
        self.value != self.factory
    }
}

impl Plan {
    /// Whether any fuse of a delivered chip must change.
    pub fn needs_fuses(&self) -> bool {
        self.fuses.iter().any(FusePlan::must_change)
    }
}

/// Fits the project to its chip.
///
/// # Errors
/// All that cannot be built, with codes C001 to C0xx. Cautions come with the plan.
pub fn plan(project: &Project) -> Result<Plan, Vec<Diagnostic>> {
    let chip = find_chip(project).map_err(|diagnostic| vec![diagnostic])?;
    let mut notes = Notes::default();

    let clock = clock::choose(chip, project, &mut notes);
    let claims = pins::claim(chip, project, &mut notes);
    let channels = channels::place(chip, project, &claims, &mut notes);
    let watchdog = watchdog::choose(chip, project, &mut notes);

    let (Some(clock), Some(channels)) = (clock, channels) else {
        return Err(notes.into_errors());
    };
    let used = timers::used(chip, &channels);
    let pwm = pwm::choose(&clock, &used, project, &mut notes);
    let Some(pwm) = pwm else {
        return Err(notes.into_errors());
    };
    let pump = pump::choose(chip, project, &claims, &pwm, &mut notes);
    let tick = tick::choose(project, &clock, &pwm, &mut notes);
    let Some(tick) = tick.filter(|_| !notes.failed()) else {
        return Err(notes.into_errors());
    };
    let button = claims.button.map(PinPlan::new);
    let directions = pins::directions(&channels, pump.as_ref());
    let (timer_plans, start) = timers::set_up(chip, &used, &channels, &pwm);
    Ok(Plan {
        chip,
        fuses: fuses::choose(chip, &clock),
        interrupt: timers::interrupt(chip, used[0]),
        timers: timer_plans,
        directions,
        start,
        clock,
        channels,
        pwm,
        tick,
        pump,
        button,
        watchdog,
        cautions: notes.cautions,
    })
}

fn find_chip(project: &Project) -> Result<&'static Chip, Diagnostic> {
    let name = &project.chip;
    chip::find(&name.value).map_err(|nearest| {
        let hint = match nearest.as_slice() {
            [] => "`duskloom chips` lists them".to_string(),
            [best, rest @ ..] => {
                let others = rest
                    .iter()
                    .map(|name| format!(" or `{name}`"))
                    .collect::<String>();
                format!("did you mean `{best}`{others}? `duskloom chips` lists all")
            }
        };
        error(
            "C001",
            name.span,
            format!("there is no chip `{}`", name.value),
            "expected a supported chip",
        )
        .with_hint(hint)
    })
}

/// What has been found so far.
#[derive(Default)]
struct Notes {
    errors: Vec<Diagnostic>,
    cautions: Vec<Diagnostic>,
}

impl Notes {
    fn add(&mut self, diagnostic: Diagnostic) {
        match diagnostic.severity {
            Severity::Error => self.errors.push(diagnostic),
            Severity::Caution => self.cautions.push(diagnostic),
        }
    }

    fn failed(&self) -> bool {
        !self.errors.is_empty()
    }

    /// In the order of the file.
    fn into_errors(mut self) -> Vec<Diagnostic> {
        self.errors.sort_by_key(|error| error.span);
        self.errors
    }
}

fn error(code: &'static str, span: Span, message: String, label: &str) -> Diagnostic {
    Diagnostic {
        severity: Severity::Error,
        code,
        span: Some(span),
        message,
        label: label.to_string(),
        hint: None,
    }
}

fn caution(code: &'static str, span: Span, message: String, label: &str) -> Diagnostic {
    Diagnostic {
        severity: Severity::Caution,
        ..error(code, span, message, label)
    }
}

impl Diagnostic {
    fn with_hint(self, hint: impl Into<String>) -> Self {
        Self {
            hint: Some(hint.into()),
            ..self
        }
    }
}

impl PinPlan {
    fn new(pin: Pin) -> Self {
        Self {
            pin,
            port: format!("PORT{}", pin.port),
            direction: format!("DDR{}", pin.port),
            input: format!("PIN{}", pin.port),
        }
    }
}

impl Assign {
    /// The named bits of a register set, all others zero.
    fn bits(chip: &'static Chip, register: &str, names: &[&str]) -> Self {
        let (register, entry) = lookup(chip, register);
        let known = |name: &&str| {
            let number = entry
                .bit(name)
                .expect("every bit named in chip data is in its register");
            (
                number,
                entry.bits[usize::from(number)]
                    .as_deref()
                    .expect("just found"),
            )
        };
        let mut bits: Vec<(u8, &'static str)> = names.iter().map(known).collect();
        bits.sort_by(|a, b| b.cmp(a));
        bits.dedup();
        Self {
            register,
            value: bits.iter().map(|(number, _)| 1 << number).sum(),
            bits: bits.into_iter().map(|(_, name)| name).collect(),
            reach: entry.reach(),
        }
    }

    /// A number.
    fn number(chip: &'static Chip, register: &str, value: u8) -> Self {
        let (register, entry) = lookup(chip, register);
        Self {
            register,
            bits: Vec::new(),
            value,
            reach: entry.reach(),
        }
    }
}

/// The register as the chip's data holds it; a test makes sure that data names only those it lists.
fn lookup(chip: &'static Chip, name: &str) -> (&'static str, &'static chip::Register) {
    let (name, register) = chip
        .registers
        .get_key_value(name)
        .expect("every register named in chip data is listed");
    (name, register)
}
