//! The charge pump's clock beside a port: the slots come too unevenly for it, but the port leaves timers free. One
//! that has both pins as outputs does it without any work.

use crate::chip::{Chip, Output, Pin, Polarity, Timer};
use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::Handler;
use crate::drive::pump::{self, PumpBy, PumpPlan};
use crate::drive::pwm::off;
use crate::drive::timer::{self, OutputPlan, StartPlan, TimerPlan, Timing};
use crate::spec::{ChargePump, Project};
use crate::target::{Claims, ClockPlan, Target, Write};
use crate::units::Hertz;

/// What its outputs are compared with: as long high as low.
pub const HALF: u8 = 127;

/// The processor's cycles in two changes of a pump that runs as fast as it usually does.
const USUAL: f64 = 512.0;

/// So many pairs of pins are named in a hint.
const NAMED: usize = 3;

/// A pump, and the timer that clocks it.
#[derive(Debug, Clone, PartialEq)]
pub struct PumpTimer {
    pub pump: PumpPlan,
    pub timer: TimerPlan,
    pub go: Write,
    /// Its interrupt. `None`: its outputs do without.
    pub handler: Option<Handler>,
}

/// A timer and two of its outputs.
pub(in crate::drive) struct Pair {
    pub timer: &'static Timer,
    outputs: [&'static Output; 2],
}

/// The outputs on the pins that the project names, of a timer that the light leaves free.
pub(in crate::drive) fn pair(
    chip: &'static Chip,
    claims: &Claims,
    free: &dyn Fn(&Timer) -> bool,
) -> Option<Pair> {
    let pins = claims.pump?;
    let mut pairs = pairs(chip, free).into_iter();
    pairs.find(|pair| pair.pins() == pins)
}

fn pairs(chip: &'static Chip, free: &dyn Fn(&Timer) -> bool) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for timer in chip.timers.iter().filter(|timer| free(timer)) {
        for first in &timer.outputs {
            let others = timer.outputs.iter();
            let others = others.filter(|other| other.name != first.name);
            pairs.extend(others.map(|second| Pair {
                timer,
                outputs: [first, second],
            }));
        }
    }
    pairs
}

impl Pair {
    fn pins(&self) -> [Pin; 2] {
        self.outputs.map(|output| output.pin)
    }

    /// Clocked from the timer's PWM, of which both are lit for half a period.
    pub(in crate::drive) fn plan(
        &self,
        target: Target,
        project: &Project,
        asked: &ChargePump,
        clock: &ClockPlan,
        notes: &mut Notes,
    ) -> PumpTimer {
        let offers = timer::offers(clock, &[self.timer], project.pwm.mode.value);
        let wish = asked.clock.map(|wish| wish.value);
        let wish = wish.unwrap_or(Hertz(clock.frequency.0 / USUAL));
        let near =
            |a: &&Timing, b: &&Timing| off(a.frequency, wish).total_cmp(&off(b.frequency, wish));
        let timing = *offers.iter().min_by(near).expect("a timer has a prescaler");
        let possible: Vec<String> = offers
            .iter()
            .map(|offer| offer.frequency.to_string())
            .collect();
        let others = format!("timer {} makes {}", self.timer.number, possible.join(", "));
        pump::compare(asked, timing.frequency, others, notes);
        let (timer, go) = self.set_up(target.chip, &timing);
        let pins = self.pins().map(|pin| target.pin(pin));
        PumpTimer {
            pump: PumpPlan {
                pins,
                clock: timing.frequency,
                half: timing.half(),
                by: PumpBy::Timer,
            },
            timer,
            go,
            handler: None,
        }
    }

    fn set_up(&self, chip: &'static Chip, timing: &Timing) -> (TimerPlan, Write) {
        let polarities = [Polarity::NonInverting, Polarity::Inverting];
        let both = self.outputs.iter().zip(polarities);
        let outputs: Vec<OutputPlan> = both
            .map(|(output, polarity)| timer::output(chip, self.timer, output, polarity))
            .collect();
        let (timers, StartPlan { go, .. }) = timer::set_up(chip, &[self.timer], &outputs, timing);
        let (mut timer, go) = timers.into_iter().zip(go).next().expect("one timer");
        let halves = outputs.iter().map(|output| output.compare);
        let halves: Vec<Write> = halves
            .map(|compare| Write::number(chip, compare, HALF))
            .collect();
        // After what high bytes are written through, and before the outputs are connected.
        let values = self.timer.values.len();
        timer.setup.splice(values..values, halves);
        (timer, go)
    }
}

/// What could clock the pump, but on other pins than the project names; `why` there is a port.
pub(in crate::drive) struct Unclocked<'a> {
    pub chip: &'static Chip,
    pub claims: &'a Claims<'a>,
    /// Whether the light leaves a timer.
    pub free: &'a dyn Fn(&Timer) -> bool,
    /// Ports of which an interrupt could change any two pins.
    pub ports: Vec<char>,
    pub why: &'a str,
    /// What would do where nothing can on any pins.
    pub otherwise: String,
}

impl Unclocked<'_> {
    /// Adds an error, unless it has been said already what is wrong with the pins.
    pub(in crate::drive) fn say(&self, asked: &ChargePump, notes: &mut Notes) {
        if let Some(fault) = self.fault(asked) {
            notes.add(fault);
        }
    }

    fn fault(&self, asked: &ChargePump) -> Option<Diagnostic> {
        let pins = self.claims.pump?;
        let free = |pin: &Pin| self.claims.is_free(*pin) || pins.contains(pin);
        let pairs = pairs(self.chip, self.free);
        let mut would: Vec<[Pin; 2]> = pairs
            .iter()
            .map(Pair::pins)
            .filter(|pins| pins.iter().all(free) && pins[0] < pins[1])
            .collect();
        would.dedup();
        let named = would.iter().take(NAMED);
        let named: Vec<String> = named.map(|[a, b]| format!("`[{a}, {b}]`")).collect();
        let of_port = |port: &char| {
            let pins = self.chip.pins().filter(|pin| pin.port == *port);
            let pins: Vec<Pin> = pins.filter(free).collect();
            (pins.len() > 1).then(|| listed(&pins))
        };
        let any: Vec<String> = self.ports.iter().filter_map(of_port).collect();
        let any = any.join(", or of ");
        let hint = match (named.is_empty(), any.is_empty()) {
            (true, true) => self.otherwise.clone(),
            (false, true) => format!("a timer clocks it on {}", named.join(" or ")),
            (true, false) => format!("an interrupt clocks it on any two of {any}"),
            (false, false) => format!(
                "a timer clocks it on {}, an interrupt on any two of {any}",
                named.join(" or ")
            ),
        };
        let [first, second] = pins;
        let message =
            format!("nothing is left that clocks the charge pump's pins {first} and {second}");
        let fault = Diagnostic::error("C033", asked.span, message)
            .label(format!("the channels are on a port: {}", self.why))
            .hint(hint);
        Some(fault)
    }
}

/// `PD0, PD1, PD6`.
pub(super) fn listed<'a>(pins: impl IntoIterator<Item = &'a Pin>) -> String {
    let names: Vec<String> = pins.into_iter().map(Pin::to_string).collect();
    names.join(", ")
}

impl PumpTimer {
    /// What disconnects its outputs.
    pub(in crate::drive) fn quiet(&self, chip: &'static Chip) -> impl Iterator<Item = Write> {
        let setup = self.timer.setup.iter().chain([&self.go]);
        let connects = setup.filter(|write| write.bits.iter().any(|bit| bit.starts_with("COM")));
        connects.map(move |write| Write::number(chip, write.register, 0))
    }
}
