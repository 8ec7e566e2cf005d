//! The light as it leaves the LED: what a switch that is slow makes of every level.

use serde::Serialize;

use crate::circuit::switch::{Course, Part, Pulse, Switching, find, speed_up};
use crate::circuit::{Hung, Seat, capacitor, part, switching};
use crate::design::Design;
use crate::light::cie;
use crate::spec::{Drive, LedString, Switch};
use crate::units::{Duty, Farads, Level, Lightness, Luminance, Ohms, Seconds, Share};

/// Errors up to this are not seen, or hardly, in L*.
pub(super) const ALLOWED: f64 = 1.0;

/// A channel whose switch is known.
#[derive(Debug, Clone, Serialize)]
pub struct Lamp {
    pub channel: usize,
    /// Its transistor; empty: it is on the pin.
    pub part: String,
    /// The shortest pulse that gives light.
    pub least_pulse: Seconds,
    /// By level, with a part that is typical.
    pub light: Vec<Lightness>,
    pub typical: Off,
    /// With half of the typical storage time, and with one and a half times it.
    pub over_storage: [Off; 2],
    /// Lit levels that are no brighter than the one below.
    pub not_rising: usize,
    /// The smallest change that brings the error to what is hardly seen; `None`: it is there, or none
    /// that is known does.
    pub remedy: Option<Remedy>,
}

/// How far the worst level is from what it should be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Off {
    /// In L*; above zero: too bright.
    pub error: f64,
    pub level: Level,
}

/// A change, and what is left of the error.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// As a project writes it.
    pub change: String,
    pub off: Off,
}

/// Collector currents over base currents that still light small NPNs in full, whose gain is 100 and more at
/// such currents (common practice, no source).
const GENTLE: [f64; 2] = [30.0, 50.0];

/// MOSFETs to propose, the smallest first.
const QUICK: [&str; 2] = ["bss138", "2n7000"];

/// All channels whose switch is known.
pub fn lamps(design: &Design) -> Vec<Lamp> {
    let strings = design.project.electrics.strings.iter().enumerate();
    strings
        .filter_map(|(channel, wanted)| lamp(design, channel, wanted.as_ref()?))
        .collect()
}

/// Names of the channels with a string whose switch is taken as ideal.
pub fn ideal<'a>(design: &'a Design, lamps: &[Lamp]) -> Vec<&'a str> {
    let strings = design.project.electrics.strings.iter().enumerate();
    strings
        .filter(|(channel, wanted)| {
            wanted.is_some() && lamps.iter().all(|lamp| lamp.channel != *channel)
        })
        .map(|(channel, _)| design.project.channels[channel].name.value.as_str())
        .collect()
}

/// The one whose worst level is furthest off.
pub fn worst(lamps: &[Lamp]) -> Option<&Lamp> {
    let size = |lamp: &Lamp| lamp.typical.error.abs();
    lamps.iter().max_by(|a, b| size(a).total_cmp(&size(b)))
}

fn lamp(design: &Design, channel: usize, wanted: &LedString) -> Option<Lamp> {
    let hung = design.circuit.strings[channel].as_ref()?;
    let seat = Seat::new(hung, &design.circuit, &design.plan);
    let switching = switching(wanted, hung, &seat)?;
    let levels = Levels { design, channel };
    let light = levels.light(&switching);
    let typical = levels.off(&light);
    let steps = light.windows(2).skip(1);
    let over = |share| levels.off(&levels.light(&switching.with_storage(Share(share))));
    let name = wanted.transistor.as_ref();
    Some(Lamp {
        channel,
        part: name.map_or_else(String::new, |name| name.value.clone()),
        least_pulse: switching.least_pulse(),
        not_rising: steps.filter(|pair| pair[1].0 <= pair[0].0 + 1e-9).count(),
        over_storage: [over(0.5), over(1.5)],
        typical,
        remedy: if typical.is_seen() {
            remedy(wanted, hung, &seat, levels)
        } else {
            None
        },
        light,
    })
}

/// The first change, from the smallest on, after which the error is hardly seen.
fn remedy(wanted: &LedString, hung: &Hung, seat: &Seat, levels: Levels) -> Option<Remedy> {
    let mut tried = driven(wanted, hung, seat)
        .into_iter()
        .chain(mosfets(wanted, seat))
        .map(|(change, switching)| Remedy {
            change,
            off: levels.off(&levels.light(&switching)),
        });
    tried.find(|remedy| !remedy.off.is_seen())
}

/// The same transistor, otherwise driven: with less into its base, a capacitor, a diode, or as a sink.
fn driven(wanted: &LedString, hung: &Hung, seat: &Seat) -> Vec<(String, Switching)> {
    let Some(part) = part(wanted).and_then(Part::bipolar) else {
        return Vec::new();
    };
    // A sink has no base resistor to begin with.
    let drive = wanted.drive.value;
    let own = hung.string.base.filter(|_| part.built_in.0 == 0.0);
    let Some(base) = own.filter(|_| drive != Drive::Sink) else {
        return Vec::new();
    };
    let plain = base.resistor;
    let more = |gain: &&f64| drive == Drive::Plain && **gain > wanted.gain;
    let gentle = GENTLE.iter().filter(more);
    let mut all: Vec<(String, Switching)> = gentle
        .map(|gain| {
            let resistor = wanted.series.at_most(Ohms(plain.0 * gain / wanted.gain));
            let weaker = seat.base(part, resistor, Farads(0.0));
            (format!("`gain: {gain}`"), Switching::Base(weaker))
        })
        .collect();
    let hurried = seat.base(part, plain, capacitor(speed_up(&part, plain)));
    all.push(("`drive: speed-up`".to_string(), Switching::Base(hurried)));
    all.push(("`drive: clamp`".to_string(), seat.clamped(part, plain)));
    if wanted.parallel.value == 1 {
        let sink = seat.sink_for(wanted.current.value, part, wanted.series);
        all.push(("`drive: sink`".to_string(), sink));
    }
    all
}

fn mosfets(wanted: &LedString, seat: &Seat) -> impl Iterator<Item = (String, Switching)> {
    let names = QUICK.iter().filter(|_| wanted.switch.value != Switch::Pin);
    names.filter_map(|name| match find(name)?.part {
        Part::Mosfet(part) => {
            let change = format!("`switch: mosfet, transistor: {name}`");
            Some((change, seat.gate(part)))
        }
        Part::Bipolar(_) => None,
    })
}

impl Off {
    fn is_seen(self) -> bool {
        self.error.abs() > ALLOWED
    }
}

/// The levels of a channel.
#[derive(Clone, Copy)]
struct Levels<'a> {
    design: &'a Design,
    channel: usize,
}

impl Levels<'_> {
    /// What the LED shows at each level, its trim undone.
    fn light(self, switching: &Switching) -> Vec<Lightness> {
        let trim = self.design.project.channels[self.channel].trim.value.0;
        let one = |level| {
            let course = self.course(self.design.deck.duty(self.channel, level));
            let whole = f64::from(self.design.plan.drive.pwm().whole);
            // Full light is 255 counts in every period.
            let share = switching.light(&course).0 / course.length().0 * whole / 255.0;
            cie::lightness(Luminance(share / trim))
        };
        self.design.scale.levels().map(one).collect()
    }

    /// The pin's course over a round of the dither.
    fn course(self, duty: Duty) -> Course {
        let pwm = self.design.plan.drive.pwm();
        let count = 1.0 / pwm.frequency.0 / f64::from(pwm.whole);
        let [fraction, base] = duty.0.to_le_bytes();
        let carries = self.design.plan.drive.dither().carries(fraction);
        Course::new(carries.map(|carry| {
            let on = (u16::from(base) + u16::from(carry)).min(pwm.whole);
            Pulse {
                on: Seconds(f64::from(on) * count),
                off: Seconds(f64::from(pwm.whole - on) * count),
            }
        }))
    }

    fn off(self, light: &[Lightness]) -> Off {
        let none = Off {
            error: 0.0,
            level: Level(0),
        };
        self.design.scale.levels().fold(none, |worst, level| {
            let wanted = self.design.scale.lightness(level);
            let error = light[usize::from(level.0)].0 - wanted.0;
            if error.abs() > worst.error.abs() {
                Off { error, level }
            } else {
                worst
            }
        })
    }
}
