//! Chooses the circuit's values and says what cannot be.

mod transistor;

use super::brown_out;
use super::flow::{self, Circuit, Hung};
use super::pump::{Doubt, Pump};
use super::string::{Impossible, StringDesign};
use crate::chip::Version;
use crate::diagnostic::Diagnostic;
use crate::plan::Plan;
use crate::spec::{Active, Channel, LedString, Project, Rail, Switch};
use crate::units::{Amps, Volts};

/// The most stages that a hint proposes.
const MOST_STAGES: u32 = 12;

/// The circuit of a project, and what is wrong with it: errors and cautions E001 to E020.
pub fn check(project: &Project, plan: &Plan) -> (Circuit, Vec<Diagnostic>) {
    let electrics = &project.electrics;
    let volts = flow::chip_volts(electrics);
    let mut check = Check {
        project,
        plan,
        pump: flow::pump(electrics.pump.as_ref(), volts, plan),
        overloaded: false,
        faults: Vec::new(),
    };
    check.supply(volts);
    if let Some(fault) = brown_out::check(electrics, plan) {
        check.say(fault);
    }
    check.pump();
    let strings = electrics
        .strings
        .iter()
        .zip(&project.channels)
        .map(|(string, channel)| string.as_ref().and_then(|one| check.string(one, channel)))
        .collect();
    let circuit = Circuit {
        strings,
        pump: check.pump,
        volts,
    };
    (circuit.settled(), together(check.faults))
}

/// Something wrong. What is said of a channel's string has its name put before the message.
#[derive(PartialEq)]
struct Fault {
    diagnostic: Diagnostic,
    of: Option<String>,
}

/// What is said of several channels because of one string that the project writes once, said once.
fn together(faults: Vec<Fault>) -> Vec<Diagnostic> {
    let mut said: Vec<(Fault, Vec<String>)> = Vec::new();
    for fault in faults {
        let same = said
            .iter_mut()
            .find(|(known, _)| known.of.is_some() && known.diagnostic == fault.diagnostic);
        match (same, fault.of) {
            (Some((_, others)), Some(name)) => others.push(format!("`{name}`")),
            (_, of) => said.push((Fault { of, ..fault }, Vec::new())),
        }
    }
    let whole = |(Fault { mut diagnostic, of }, others): (Fault, Vec<String>)| {
        if let Some(name) = of {
            diagnostic.message = format!("`{name}` {}", diagnostic.message);
        }
        if !others.is_empty() {
            diagnostic.message += &format!("; {} likewise", others.join(", "));
        }
        diagnostic
    };
    said.into_iter().map(whole).collect()
}

struct Check<'a> {
    project: &'a Project,
    plan: &'a Plan,
    pump: Option<Pump>,
    overloaded: bool,
    faults: Vec<Fault>,
}

impl Check<'_> {
    fn say(&mut self, diagnostic: Diagnostic) {
        let of = None;
        self.faults.push(Fault { diagnostic, of });
    }

    fn say_of(&mut self, channel: &Channel, diagnostic: Diagnostic) {
        let of = Some(channel.name.value.clone());
        self.faults.push(Fault { diagnostic, of });
    }

    /// The chip must stand its supply, and the regulator must have enough to work with.
    fn supply(&mut self, volts: Volts) {
        let Some(supply) = &self.project.electrics.supply else {
            return;
        };
        let (chip, limits) = (self.plan.chip, &self.plan.chip.electrical);
        let most = Volts(volts.0 * (1.0 + supply.tolerance.0));
        let span = supply.volts.span;
        if volts.0 > limits.volts.0 {
            let hint = if self.project.electrics.battery.is_some() && supply.regulator.is_none() {
                "fewer cells, or a `supply` with a `regulator`".to_string()
            } else {
                format!(
                    "`volts` is what the chip gets: a `regulator` with `input: {volts}` makes it, \
                     and strings can take theirs `from: input`"
                )
            };
            let message = format!("{volts} is too much for the {}", chip.title);
            self.say(
                Diagnostic::error("E010", span, message)
                    .label(format!("expected at most {}", limits.volts))
                    .hint(hint),
            );
        } else if most.0 > limits.absolute_volts.0 {
            let message = format!("the supply may reach {most}");
            self.say(
                Diagnostic::caution("E011", span, message)
                    .label(format!(
                        "the {} breaks at {}",
                        chip.title, limits.absolute_volts
                    ))
                    .hint("use a supply with a closer tolerance"),
            );
        }
        let least = self.plan.clock.least_supply;
        if volts.0 < least.0 {
            let at = self.plan.clock.frequency;
            let message = format!("{volts} is too little for a clock of {at}");
            self.say(
                Diagnostic::error("E012", span, message)
                    .label(format!("expected {least} or more"))
                    .hint("slow the clock down, or give the chip more volts"),
            );
        }
        self.version();
        if let Some(battery) = &self.project.electrics.battery
            && supply.regulator.is_none()
        {
            let end = battery.end();
            if end.0 < least.0 && volts.0 >= least.0 {
                let message = format!("the battery is cut off at {end}, too late for the chip");
                self.say(
                    Diagnostic::caution("E014", battery.span, message)
                        .label(format!("its clock needs {least}"))
                        .hint(
                            "a slower clock, an earlier `cut_off`, or more cells and a regulator",
                        ),
                );
            }
        }
        if let Some(regulator) = &supply.regulator {
            let needed = Volts(volts.0 + regulator.dropout.0);
            if regulator.input.0.0 < needed.0 {
                let message = format!(
                    "the regulator's input goes down to {}, and {volts} plus its dropout of {} need {needed}",
                    regulator.input.0, regulator.dropout
                );
                self.say(
                    Diagnostic::error("E013", regulator.span, message)
                        .label(format!("expected an input of {needed} or more"))
                        .hint(
                            "more input, a regulator with a lower dropout, or an earlier cut-off",
                        ),
                );
            }
        }
    }

    /// Where the usual version of the chip is not specified for the supply, another one is.
    fn version(&mut self) {
        let electrics = &self.project.electrics;
        let (chip, clock) = (self.plan.chip, self.plan.clock.frequency);
        let lowest = flow::lowest_volts(electrics);
        let Some(usual) = chip.versions.first() else {
            return;
        };
        let named = |version: &Version| format!("{}{}", chip.title, version.suffix);
        if lowest.0 < self.plan.clock.least_supply.0 || usual.will_do(clock, lowest) {
            return;
        }
        let Some(span) = flow::lowest_volts_said_at(electrics) else {
            return;
        };
        let label = format!("an {} is made for {} or more", named(usual), usual.volts);
        let hint = chip.version_for(clock, lowest).map_or(
            "a higher supply, or an earlier `cut_off`".to_string(),
            |version| format!("buy an {}", named(version)),
        );
        let message = format!("the chip may get {lowest}, too little for the usual version");
        self.say(
            Diagnostic::caution("E018", span, message)
                .label(label)
                .hint(hint),
        );
    }

    /// The pump must carry what its strings want together.
    fn pump(&mut self) {
        let (Some(pump), Some(circuit)) = (&self.pump, &self.project.electrics.pump) else {
            return;
        };
        let load = flow::pump_wish(&self.project.electrics);
        if pump.doubts(load).contains(&Doubt::Overload) {
            self.overloaded = true;
            let most = pump.most_load();
            let message = format!(
                "the pump cannot carry {load}: it falls from {} to {}",
                pump.output(Amps(0.0)),
                pump.output(load)
            );
            self.say(
                Diagnostic::error("E020", circuit.span, message)
                    .label(format!(
                        "expected at most {most} in all its strings together"
                    ))
                    .hint("less current a string, larger capacitors, or fewer strings on the pump"),
            );
        }
    }

    fn string(&mut self, wanted: &LedString, channel: &Channel) -> Option<Hung> {
        self.polarity(wanted, channel);
        if let Some(fault) = transistor::check(wanted) {
            self.say(fault);
        }
        let electrics = &self.project.electrics;
        let rail = wanted.from.value;
        let feed = flow::feed(wanted, electrics, self.pump.as_ref(), self.plan);
        if rail == Rail::Pump && self.overloaded {
            return None;
        }
        match StringDesign::new(wanted, feed) {
            Ok(string) => {
                self.within_limits(&string, wanted, channel);
                Some(Hung {
                    rail,
                    volts: feed.volts,
                    string,
                })
            }
            Err(fault) => {
                let hint = self.what_would_work(wanted, fault);
                let message = format!("needs {} and has {}", fault.needs, fault.has);
                let label = format!(
                    "{} in series, each {}",
                    wanted.leds.value, wanted.forward.value
                );
                self.say_of(
                    channel,
                    Diagnostic::error("E001", wanted.span, message)
                        .label(label)
                        .hint(hint),
                );
                None
            }
        }
    }

    /// Fewer LEDs, strings side by side, more stages, another rail.
    fn what_would_work(&self, wanted: &LedString, fault: Impossible) -> String {
        let mut ways = Vec::new();
        let leds = wanted.leds.value;
        if fault.fits > 0 {
            let side_by_side = leds.div_ceil(fault.fits) * wanted.parallel.value;
            ways.push(format!(
                "`leds: {}, parallel: {side_by_side}` (each of the {side_by_side} with its resistor)",
                leds.div_ceil(leds.div_ceil(fault.fits)),
            ));
        }
        if wanted.from.value == Rail::Pump
            && let Some(pump) = &self.pump
        {
            let load = flow::pump_wish(&self.project.electrics);
            let more = (pump.stages + 1..=MOST_STAGES)
                .map(|stages| Pump { stages, ..*pump })
                .find(|more| {
                    more.output(load).0 >= fault.needs.0
                        && !more.doubts(load).contains(&Doubt::Overload)
                });
            ways.extend(more.map(|pump| format!("`stages: {}` in the charge pump", pump.stages)));
        } else {
            let pumped = self.pump.as_ref().map(|pump| {
                let load = flow::pump_wish(&self.project.electrics).0
                    + wanted.current.value.0 * f64::from(wanted.parallel.value);
                pump.output(Amps(load))
            });
            if pumped.is_some_and(|volts| volts.0 >= fault.needs.0)
                && wanted.switch.value != Switch::Pin
            {
                ways.push("`from: pump`".to_string());
            }
            let input = flow::input_volts(&self.project.electrics);
            if wanted.from.value == Rail::Supply
                && wanted.switch.value != Switch::Pin
                && input.is_some_and(|volts| volts.0 >= fault.needs.0)
            {
                ways.push("`from: input`".to_string());
            }
            ways.push(format!("a rail of {} or more", fault.needs));
        }
        if ways.is_empty() {
            ways.push("no number of stages gives that with this load; less current".to_string());
        }
        ways.join(", or ")
    }

    fn polarity(&mut self, wanted: &LedString, channel: &Channel) {
        let low_side = matches!(wanted.switch.value, Switch::Npn | Switch::Mosfet);
        if low_side && channel.active.value == Active::Low {
            let message = "is lit by a low pin";
            self.say_of(
                channel,
                Diagnostic::error("E005", wanted.switch.span, message)
                    .label("this switch is on while its pin is high")
                    .hint("remove `active: low` from the channel, or use `switch: pin`"),
            );
        }
        if wanted.switch.value == Switch::Pin && wanted.from.value != Rail::Supply {
            let message = "a pin can only switch what hangs on the chip's own supply";
            self.say(
                Diagnostic::error("E006", wanted.from.span, message)
                    .label("more volts than the supply's reach the pin while the string is off")
                    .hint("use `switch: npn` or `switch: mosfet`"),
            );
        }
    }

    fn within_limits(&mut self, string: &StringDesign, wanted: &LedString, channel: &Channel) {
        let limits = &self.plan.chip.electrical;
        if string.pin.0 > limits.pin.0 {
            let message = format!("puts up to {} through its pin", string.pin);
            self.say_of(
                channel,
                Diagnostic::error("E003", wanted.span, message)
                    .label(format!(
                        "a pin of the {} breaks at {}",
                        self.plan.chip.title, limits.pin
                    ))
                    .hint("use `switch: mosfet`, or `npn` with a higher `gain`"),
            );
        } else if string.pin.0 > limits.pin_tested.0 {
            let message = format!("puts up to {} through its pin", string.pin);
            self.say_of(
                channel,
                Diagnostic::caution("E004", wanted.span, message)
                    .label(format!("the datasheet vouches for {}", limits.pin_tested))
                    .hint("use `switch: mosfet`, or `npn` with a higher `gain`"),
            );
        }
        if string.least.0 < string.current.0 / 3.0 {
            let message = format!("may get only {} of {}", string.least, string.current);
            self.say_of(
                channel,
                Diagnostic::caution("E002", wanted.span, message)
                    .label("too little is left for the resistor to even out LEDs and supply")
                    .hint("fewer LEDs in series, or a higher rail"),
            );
        }
        if string.rating.is_none() {
            let message = format!("turns {} into heat in one resistor", string.heat);
            self.say_of(
                channel,
                Diagnostic::error("E007", wanted.span, message)
                    .label("no usual resistor can take that")
                    .hint("more LEDs in series, or a lower rail"),
            );
        }
    }
}
