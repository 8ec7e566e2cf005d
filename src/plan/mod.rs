//! Fits a project to its chip: which timer drives which string, how fast, from which clock, and what
//! the firmware must write into which register to get there.
//!
//! All timers run 8-bit PWM with TOP 255, one prescaler and in phase, so that one overflow interrupt
//! serves them all. Depth beyond 8 bits is spread over time by that interrupt, see [`PwmPlan`].

mod assign;
mod brown_out;
mod channels;
mod clock;
mod fuses;
mod notes;
mod pins;
mod programmer;
mod pump;
mod pwm;
mod tick;
mod timers;
mod times;
mod watchdog;

use serde::Serialize;

use assign::lookup;
use notes::Notes;

use crate::chip::{self, BrownOut, Chip, Pin, Polarity, Reach, Uncalibrated};
use crate::diagnostic::{Diagnostic, short};
use crate::spec::{Active, ClockSource, Project};
use crate::units::{Cycles, Hertz, Seconds, Share, Time, Volts};

pub use assign::Assign;
pub use tick::{MOST_OVERFLOWS, Tick};

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
    /// Switches the comparator off.
    pub comparator: Assign,
    pub tick: Tick,
    pub pump: Option<PumpPlan>,
    pub button: Option<PinPlan>,
    pub watchdog: Option<WatchdogPlan>,
    /// `None`: the detector is off.
    pub brown_out: Option<&'static BrownOut>,
    /// The shortest bit of a programmer's clock that suits the chip as delivered and as planned.
    pub bit_time: Time,
    /// Low byte first. What to program, and why.
    pub fuses: Vec<FusePlan>,
    /// What the person should know although it can be built.
    pub cautions: Vec<Diagnostic>,
}

/// Where the processor's clock comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockPlan {
    pub frequency: Hertz,
    pub source: ClockSource,
    /// What the source runs at before the prescaler.
    pub oscillator: Hertz,
    /// The firmware writes this into `CLKPR` (after `CLKPCE`) before all else: log2 of the divisor.
    /// `None`: the chip has no such prescaler.
    pub prescaler_bits: Option<u8>,
    /// How far off the frequency may be, either way.
    pub accuracy: Share,
    /// The oscillator runs on another frequency's calibration, unless the person writes its own in.
    pub uncalibrated: Option<&'static Uncalibrated>,
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
    /// Modes, outputs and TOP, in the order to write them; the rest comes with
    /// [`go`](StartPlan::go). Compare registers must hold 255 (dark) before: once a PWM mode is set
    /// they take effect only when the counter comes round.
    pub setup: Vec<Assign>,
    /// The count it starts at, so that all timers come out in phase. Need not be written for a zero where
    /// there is one timer alone.
    pub preset: Assign,
}

/// How the timers are set going, in this order: `reset`, if any, then all of `go`, one straight after
/// the other with the values already in registers and interrupts off. The outputs' pins are made
/// outputs afterwards; then nothing flashes. On the ATmega32U4 a divided timer 4 may be one count
/// behind the others.
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

/// Overflows are counted in a byte.
const COUNTED: f64 = 256.0;

impl Plan {
    /// What the count of overflows spans: after a longer time nobody knows how long it was.
    pub fn counted(&self) -> Seconds {
        Seconds(COUNTED * f64::from(self.pwm.cycles().0) / self.clock.frequency.0)
    }
}

impl PwmPlan {
    /// From one overflow to the next.
    pub fn cycles(&self) -> Cycles {
        Cycles(u32::from(self.period) * u32::from(self.prescaler))
    }
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
    /// Keep those of other timers out, where they have registers of their own: a boot loader may have
    /// left one on.
    pub others: Vec<Assign>,
}

/// Two pins that toggle in opposite phase, in the overflow interrupt.
#[derive(Debug, Clone, PartialEq)]
pub struct PumpPlan {
    /// The first starts high, the second low.
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

    /// Those that must be programmed; all, where a delivered chip's are not certain.
    pub fn fuses_to_write(&self) -> impl Iterator<Item = &FusePlan> {
        let uncertain = self.chip.fuses_vary.is_some();
        self.fuses
            .iter()
            .filter(move |fuse| uncertain || fuse.must_change())
    }
}

/// Fits the project to its chip.
///
/// # Errors
/// All that cannot be built, with codes C001 to C0xx. Cautions come with the plan.
pub fn plan(project: &Project) -> Result<Plan, Vec<Diagnostic>> {
    plan_with_tick(project, Time(0))
}

/// The same, with a tick of `least` or more where the person asks for none.
///
/// # Errors
/// As [`plan`].
pub fn plan_with_tick(project: &Project, least: Time) -> Result<Plan, Vec<Diagnostic>> {
    let chip = find_chip(project).map_err(|diagnostic| vec![diagnostic])?;
    let mut notes = Notes::default();

    let clock = clock::choose(chip, project, &mut notes);
    let mut claims = pins::claim(chip, project, &mut notes);
    let channels = channels::place(chip, project, &mut claims, &mut notes);
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
    let tick = tick::choose(project, &clock, &pwm, least, &mut notes);
    let Some(tick) = tick.filter(|_| !notes.failed()) else {
        return Err(notes.into_errors());
    };
    if let Some(watchdog) = &watchdog {
        watchdog::outlasts(watchdog, project, &tick, &mut notes);
    }
    let button = claims.button.map(PinPlan::new);
    let brown_out = brown_out::choose(chip, project, &clock, &mut notes);
    let fuses = fuses::choose(chip, project, &clock, brown_out, &claims, &mut notes);
    if notes.failed() {
        return Err(notes.into_errors());
    }
    let bit_time = programmer::bit_time(chip, &fuses);
    let directions = pins::directions(&channels, pump.as_ref());
    let (timer_plans, start) = timers::set_up(chip, &used, &channels, &pwm);
    Ok(Plan {
        chip,
        brown_out,
        bit_time,
        fuses,
        interrupt: timers::interrupt(chip, used[0]),
        comparator: Assign::bits(chip, &chip.comparator.register, &[&chip.comparator.disable]),
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
        cautions: notes.into_cautions(),
    })
}

fn find_chip(project: &Project) -> Result<&'static Chip, Diagnostic> {
    let name = &project.chip;
    chip::find(&name.value).map_err(|nearest| {
        let hint = match nearest.as_slice() {
            [] => "`duskloom chips` lists them".to_string(),
            names => {
                let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
                format!(
                    "did you mean {}? `duskloom chips` lists all",
                    names.join(" or ")
                )
            }
        };
        Diagnostic::error(
            "C001",
            name.span,
            format!("there is no chip `{}`", short(&name.value)),
        )
        .label("expected a supported chip")
        .hint(hint)
    })
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
