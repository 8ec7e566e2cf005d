//! Which timer output drives which channel.

use std::collections::BTreeSet;

use crate::chip::{Chip, Output, Pin, Polarity, Reach, Timer};
use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::ChannelPlan;
use crate::spec::{Active, Channel, Project};
use crate::target::{Claims, register};

/// A channel on its timer output.
#[derive(Debug, Clone, PartialEq)]
pub struct OutputPlan {
    pub pin: Pin,
    pub polarity: Polarity,
    /// The timer's number.
    pub timer: u8,
    /// `OC0A`.
    pub output: &'static str,
    /// The register to write 255 − on-time into.
    pub compare: &'static str,
    pub reach: Reach,
}

/// `None` after adding an error.
pub(in crate::drive) fn place<'a>(
    chip: &'static Chip,
    project: &'a Project,
    claims: &mut Claims<'a>,
    notes: &mut Notes,
) -> Option<Vec<OutputPlan>> {
    let mut placed: Vec<Option<Place>> = vec![None; project.channels.len()];
    for (index, pin) in by_fewest_outputs(chip, claims) {
        placed[index] = best_output(chip, pin, &placed);
        if placed[index].is_none() {
            notes.add(no_pwm(chip, &project.channels[index], pin, claims));
        }
    }
    let mut without = Vec::new();
    for (index, channel) in project.channels.iter().enumerate() {
        if channel.pin.is_some() {
            continue;
        }
        let choices = in_order_of_choice(chip);
        placed[index] = choices
            .into_iter()
            .find(|(_, output)| claims.is_free(output.pin));
        match placed[index] {
            Some((_, output)) => claims.take_for(output.pin, channel),
            None => without.push(channel),
        }
    }
    if let [first, others @ ..] = without.as_slice() {
        notes.add(none_left(chip, first, others));
    }
    let plan = |(channel, place): (&Channel, Option<Place>)| {
        let (timer, output) = place?;
        Some(output_plan(chip, channel, timer, output))
    };
    project.channels.iter().zip(placed).map(plan).collect()
}

/// A timer and one of its outputs.
type Place = (&'static Timer, &'static Output);

/// The channels with a pin of their own; those whose pin has the fewest outputs choose first.
fn by_fewest_outputs(chip: &Chip, claims: &Claims) -> Vec<(usize, Pin)> {
    let pins = claims.channels.iter().enumerate();
    let mut named: Vec<(usize, Pin)> = pins
        .filter_map(|(index, pin)| pin.map(|pin| (index, pin)))
        .collect();
    named.sort_by_key(|&(index, pin)| (chip.outputs_on(pin).len(), index));
    named
}

/// Of the outputs on a pin, the first one whose timer is in use already, or else the first.
fn best_output(chip: &'static Chip, pin: Pin, placed: &[Option<Place>]) -> Option<Place> {
    let in_use = |timer: &Timer| {
        placed
            .iter()
            .flatten()
            .any(|(used, _)| used.number == timer.number)
    };
    chip.outputs_on(pin)
        .into_iter()
        .min_by_key(|(timer, _)| (!in_use(timer), timer.number))
}

/// All outputs by timer; within a timer, those that the programmer does not use come first.
fn in_order_of_choice(chip: &'static Chip) -> Vec<Place> {
    let mut outputs: Vec<_> = chip.outputs().collect();
    outputs.sort_by_key(|(timer, output)| {
        (
            timer.number,
            chip.programming.function(output.pin).is_some(),
        )
    });
    outputs
}

impl OutputPlan {
    pub(super) fn channel(&self) -> ChannelPlan {
        ChannelPlan {
            pin: self.pin,
            active: match self.polarity {
                Polarity::Inverting => Active::High,
                Polarity::NonInverting => Active::Low,
            },
            output: Some(self.output),
        }
    }
}

fn output_plan(
    chip: &'static Chip,
    channel: &Channel,
    timer: &'static Timer,
    output: &'static Output,
) -> OutputPlan {
    let (compare, register) = register(chip, &output.compare);
    OutputPlan {
        pin: output.pin,
        polarity: match channel.active.value {
            Active::High => Polarity::Inverting,
            Active::Low => Polarity::NonInverting,
        },
        timer: timer.number,
        output: &output.name,
        compare,
        reach: register.reach(),
    }
}

fn no_pwm(chip: &Chip, channel: &Channel, pin: Pin, claims: &Claims) -> Diagnostic {
    let span = channel
        .pin
        .as_ref()
        .map_or(channel.name.span, |pin| pin.span);
    Diagnostic::error(
        "C013",
        span,
        format!("{pin} of {} has no PWM output", chip.title),
    )
    .label("expected a pin with a free PWM output")
    .hint(claims.free_outputs())
}

/// One error, however many channels it leaves out.
fn none_left(chip: &Chip, channel: &Channel, others: &[&Channel]) -> Diagnostic {
    let pins: BTreeSet<Pin> = chip.outputs().map(|(_, output)| output.pin).collect();
    let names: Vec<String> = pins.iter().map(Pin::to_string).collect();
    let more = match others {
        [] => String::new(),
        [other] => format!(" and `{}`", other.name.value),
        others => format!(" and {} more", others.len()),
    };
    let name = &channel.name.value;
    let message = format!("no PWM pin is left for channel `{name}`{more}");
    Diagnostic::error("C015", channel.name.span, message)
        .label("expected fewer channels, or another chip")
        .hint(format!("{} has PWM on {}", chip.title, names.join(", ")))
}
