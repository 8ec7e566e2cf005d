//! Which timer output drives which channel.

use std::collections::BTreeSet;

use crate::chip::{Chip, Output, Pin, Polarity, Reach, Timer};
use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::{ChannelPlan, Way, plain};
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

/// The channels, and the outputs of those that are dimmed, in their order.
pub(in crate::drive) struct Placed {
    pub channels: Vec<ChannelPlan>,
    pub outputs: Vec<OutputPlan>,
}

/// `None` after adding an error.
pub(in crate::drive) fn place<'a>(
    chip: &'static Chip,
    project: &'a Project,
    claims: &mut Claims<'a>,
    notes: &mut Notes,
) -> Option<Placed> {
    let placed = assign(chip, project, claims);
    let mut without = Vec::new();
    let channels = project.channels.iter().zip(&placed).zip(&claims.channels);
    for ((channel, place), named) in channels {
        match named {
            _ if place.is_some() || channel.is_plain() => {}
            Some(pin) => notes.add(no_pwm(chip, channel, *pin, claims)),
            None if channel.pin.is_none() => without.push(channel),
            None => {} // It has been said what is wrong with its pin.
        }
    }
    if let [first, others @ ..] = without.as_slice() {
        notes.add(none_left(chip, first, others));
    }
    let plain = plain::place(chip, project, claims, notes);
    let mut outputs = Vec::new();
    let mut plan = |((channel, place), plain): ((&Channel, Option<Place>), Option<Pin>)| {
        if channel.is_plain() {
            return Some(ChannelPlan::new(plain?, channel, Way::Latch));
        }
        let output = self::of_channel(chip, channel, place?);
        outputs.push(output);
        let output = outputs.last()?;
        let way = Way::Output(output.output);
        Some(ChannelPlan::new(output.pin, channel, way))
    };
    let places = project.channels.iter().zip(placed).zip(plain);
    let channels: Option<Vec<ChannelPlan>> = places.map(&mut plan).collect();
    Some(Placed {
        channels: channels?,
        outputs,
    })
}

/// A timer and one of its outputs.
pub(in crate::drive) type Place = (&'static Timer, &'static Output);

/// An output for each channel that is dimmed, as far as they go: that on its pin, or a free one.
pub(in crate::drive) fn assign<'a>(
    chip: &'static Chip,
    project: &'a Project,
    claims: &mut Claims<'a>,
) -> Vec<Option<Place>> {
    let mut placed: Vec<Option<Place>> = vec![None; project.channels.len()];
    for (index, pin) in by_fewest_outputs(chip, claims) {
        if !project.channels[index].is_plain() {
            placed[index] = best_output(chip, pin, &placed);
        }
    }
    for (index, channel) in project.channels.iter().enumerate() {
        if channel.pin.is_some() || channel.is_plain() {
            continue;
        }
        let choices = in_order_of_choice(chip);
        placed[index] = choices
            .into_iter()
            .find(|(_, output)| claims.is_free(output.pin));
        if let Some((_, output)) = placed[index] {
            claims.take_for(output.pin, channel);
        }
    }
    placed
}

/// A channel's output.
pub(in crate::drive) fn of_channel(
    chip: &'static Chip,
    channel: &Channel,
    (timer, output): Place,
) -> OutputPlan {
    let polarity = match channel.active.value {
        Active::High => Polarity::Inverting,
        Active::Low => Polarity::NonInverting,
    };
    self::output(chip, timer, output, polarity)
}

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

/// An output, in this polarity.
pub(in crate::drive) fn output(
    chip: &'static Chip,
    timer: &'static Timer,
    output: &'static Output,
    polarity: Polarity,
) -> OutputPlan {
    let (compare, register) = register(chip, &output.compare);
    OutputPlan {
        pin: output.pin,
        polarity,
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
