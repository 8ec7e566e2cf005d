//! Outputs of timers, and beside them pins of one port, from one interrupt. The timers' overflows come evenly; some
//! of them are a frame of the port: in the first the shortest planes are shown, timed to the cycle, and each of the
//! others is shown for one overflow, two, four and so on ([`Planes`]).

mod pins;
mod pump;
mod text;

use super::port::pump::{self as pump_timer, PumpTimer, Unclocked};
use super::port::{self, Planes, Registers};
use super::ports::{PortPlan, directions, ports};
use super::pwm::{Makes, listed, nearest};
use super::timer::{self, Keeper, Placed, TimerDrive, TimerPlan, Timing};
use super::{PwmPlan, Way};
use crate::chip::{Chip, Pin, Timer};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{Project, PwmMode};
use crate::target::{Claims, ClockPlan, Target, Write};

pub(super) use pins::place;
pub use text::TEMPLATES;

/// Channels on outputs of timers, and others on pins of a port.
#[derive(Debug, Clone, PartialEq)]
pub struct MixedDrive {
    /// The timers with their outputs, and what every drive has.
    pub timer: TimerDrive,
    /// The port that is written: one.
    pub ports: Vec<PortPlan>,
    pub planes: Planes,
    /// The timer of the pump.
    pub pump: Option<PumpTimer>,
    /// Why it is both.
    pub why: String,
}

impl MixedDrive {
    /// `why`: this drive, and no other. `None` after adding an error.
    pub(super) fn plan<'a>(
        target: Target,
        project: &'a Project,
        clock: Option<&ClockPlan>,
        claims: &mut Claims<'a>,
        why: String,
        notes: &mut Notes,
    ) -> Option<Self> {
        let chip = target.chip;
        if project.pwm.mode.value == PwmMode::PhaseCorrect {
            notes.add(no_mode(project));
        }
        let named = claims.clone();
        let placed = place(chip, project, claims, notes);
        let (clock, Placed { channels, outputs }) = clock.zip(placed)?;
        let used = timer::used(chip, &outputs);
        let free = |timer: &Timer| used.iter().all(|used| used.number != timer.number);
        let (timing, planes) = timing(clock, &used, project, notes)?;
        let ports = ports(target, &channels, Way::Planes);
        let placed = Placed { channels, outputs };
        let mut timer = TimerDrive::of(target, placed, timing, None, text::HANDLER);
        let common = &mut timer.common;
        let asked = project.charge_pump.as_ref();
        let pair = asked.zip(pump_timer::pair(chip, claims, &free));
        let pump = pair.map(|(asked, pair)| pair.plan(target, project, asked, clock, notes));
        let own = pump::toggling(target, claims, &ports[0], planes);
        common.pump = match (asked, &pump, own) {
            (None, ..) => None,
            (_, Some(by_timer), _) => Some(by_timer.pump.clone()),
            (Some(asked), None, Some(own)) => {
                pump::plan(target, (asked, claims), own, &common.pwm, notes)
            }
            (Some(asked), None, None) => {
                let unclocked = Unclocked {
                    chip,
                    claims: &named,
                    free: &free,
                    ports: pump::ports(target, &ports[0], planes),
                    why: &why,
                    otherwise: "a faster clock would do, or two pins of another port".to_string(),
                };
                unclocked.say(asked, notes);
                None
            }
        };
        let go = pump.iter().map(|pump| pump.go.clone());
        common.start.go.extend(go);
        common.pwm = PwmPlan {
            slowest: port::pwm::frequency(clock, planes),
            ..common.pwm
        };
        let pump_pins = common.pump.iter().flat_map(|pump| &pump.pins);
        let pins = common.channels.iter().map(|channel| channel.pin);
        let pins: Vec<Pin> = pins.chain(pump_pins.map(|pin| pin.pin)).collect();
        common.directions = directions(target, pins.into_iter());
        let mut drive = Self {
            timer,
            ports,
            planes,
            pump,
            why,
        };
        drive.timer.common.cost = drive.counted(Keeper::Registers);
        drive.timer.common.handlers[0].size = drive.timer.common.cost.size;
        Some(drive)
    }

    /// The timers in use, and what is written into each before it gets its clock.
    pub(super) fn set_up(&self) -> Vec<(&TimerPlan, Vec<&Write>)> {
        let mut all = self.timer.set_up();
        let pump = self.pump.iter().map(|pump| &pump.timer);
        all.extend(pump.map(|timer| (timer, timer.setup.iter().collect())));
        all
    }

    /// Keeps the interrupt out, disconnects the timers, and then has the strings dark.
    pub(super) fn quiet(&self, chip: &'static Chip) -> Vec<Write> {
        let still = self.timer.common.still(chip).into_iter();
        let pumping = self.pump.iter().flat_map(|pump| pump.quiet(chip));
        let dark = self.ports.iter().map(|port| port.dark(chip));
        let all = still.chain(self.timer.quiet(chip));
        all.chain(pumping).chain(dark).collect()
    }

    pub fn registers(&self) -> Registers {
        let letters = self.ports.iter().map(|port| port.letter);
        let single = [
            "SLOT",
            "COUNT",
            "SHOWN",
            "FRESH",
            "FLAGS",
            "OVERFLOWS",
            "SPARE",
        ];
        Registers::new(letters, &single)
    }

    /// `timers, and bit-angle on port B`.
    pub fn title(&self) -> String {
        format!("timers, and bit-angle on port {}", self.ports[0].letter)
    }
}

/// The timers' pulses, and how deep the planes are: as deep are both.
fn timing(
    clock: &ClockPlan,
    used: &[&Timer],
    project: &Project,
    notes: &mut Notes,
) -> Option<(Timing, Planes)> {
    let planes = port::pwm::choose(clock, Planes::beside_timers(), project, None, notes)?;
    let fastest = *timer::offers(clock, used, PwmMode::Fast).first()?;
    if let Some(wish) = project.pwm.frequency {
        let makes = Makes {
            runs: "the PWM runs",
            by: "timers",
            possible: listed([fastest.frequency].into_iter()),
        };
        nearest(&[fastest], |one| one.frequency, wish, makes, notes);
    }
    let extra_bits = planes.bits - 8;
    let timing = Timing {
        extra_bits,
        ..fastest
    };
    Some((timing, planes))
}

fn no_mode(project: &Project) -> Diagnostic {
    let message = "beside a port the timers' PWM is fast, as every overflow is of 256 counts";
    Diagnostic::error("C023", project.pwm.mode.span, message)
        .label("expected `fast`, or no `mode`")
        .hint("leave it out, or use PWM pins alone")
}
