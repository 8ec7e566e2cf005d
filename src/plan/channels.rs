//! Which timer output drives which channel.

use std::collections::BTreeSet;

use super::pins::Claims;
use super::{ChannelPlan, Notes, error, lookup};
use crate::chip::{Chip, Output, Pin, Polarity, Timer};
use crate::spec::{Active, Channel, Project};

/// `None` after adding an error.
pub(super) fn place(
    chip: &'static Chip,
    project: &Project,
    claims: &Claims,
    notes: &mut Notes,
) -> Option<Vec<ChannelPlan>> {
    let mut placed: Vec<Option<(&Timer, &Output)>> = vec![None; project.channels.len()];
    let mut used = BTreeSet::new();
    let mut failed = false;

    for (index, pin) in by_fewest_outputs(chip, claims) {
        let channel = &project.channels[index];
        let outputs = chip.outputs_on(pin);
        let free = outputs
            .iter()
            .find(|(_, output)| !used.contains(&output.name));
        match free {
            Some(&(timer, output)) => {
                used.insert(output.name.clone());
                placed[index] = Some((timer, output));
            }
            None => {
                notes.add(no_pwm(chip, channel, pin, claims));
                failed = true;
            }
        }
    }
    for (index, channel) in project.channels.iter().enumerate() {
        if channel.pin.is_some() {
            failed |= claims.channels[index].is_none();
            continue;
        }
        let pins: Vec<Pin> = placed
            .iter()
            .flatten()
            .map(|(_, output)| output.pin)
            .collect();
        let free = in_order_of_choice(chip).into_iter().find(|(_, output)| {
            claims.is_free(output.pin)
                && !pins.contains(&output.pin)
                && !used.contains(&output.name)
        });
        match free {
            Some((timer, output)) => {
                used.insert(output.name.clone());
                placed[index] = Some((timer, output));
            }
            None => {
                notes.add(none_left(chip, channel));
                failed = true;
            }
        }
    }
    if failed {
        return None;
    }
    let plan = |(channel, (timer, output)): (&Channel, (&'static Timer, &'static Output))| {
        channel_plan(chip, channel, timer, output)
    };
    Some(
        project
            .channels
            .iter()
            .zip(placed.into_iter().flatten())
            .map(plan)
            .collect(),
    )
}

/// The channels with a pin of their own; those whose pin has the fewest outputs choose first.
fn by_fewest_outputs(chip: &Chip, claims: &Claims) -> Vec<(usize, Pin)> {
    let mut named: Vec<(usize, Pin)> = claims
        .channels
        .iter()
        .enumerate()
        .filter_map(|(index, pin)| pin.map(|pin| (index, pin)))
        .collect();
    named.sort_by_key(|&(index, pin)| (chip.outputs_on(pin).len(), index));
    named
}

/// All outputs by timer; within a timer, those that the programmer does not use come first.
fn in_order_of_choice(chip: &'static Chip) -> Vec<(&'static Timer, &'static Output)> {
    let mut outputs: Vec<_> = chip.outputs().collect();
    outputs.sort_by_key(|(timer, output)| {
        (
            timer.number,
            chip.programming.function(output.pin).is_some(),
        )
    });
    outputs
}

fn channel_plan(
    chip: &'static Chip,
    channel: &Channel,
    timer: &'static Timer,
    output: &'static Output,
) -> ChannelPlan {
    let (compare, register) = lookup(chip, &output.compare);
    let active = channel.active.value;
    ChannelPlan {
        pin: output.pin,
        active,
        polarity: match active {
            Active::High => Polarity::Inverting,
            Active::Low => Polarity::NonInverting,
        },
        timer: timer.number,
        output: &output.name,
        compare,
        reach: register.reach(),
    }
}

fn no_pwm(
    chip: &Chip,
    channel: &Channel,
    pin: Pin,
    claims: &Claims,
) -> crate::diagnostic::Diagnostic {
    let span = channel
        .pin
        .as_ref()
        .map_or(channel.name.span, |pin| pin.span);
    let (code, message) = if chip.outputs_on(pin).is_empty() {
        ("C013", format!("{pin} of {} has no PWM output", chip.title))
    } else {
        (
            "C014",
            format!("the PWM outputs of {pin} are taken by other channels"),
        )
    };
    let free: Vec<String> = chip
        .outputs()
        .filter(|(_, output)| claims.is_free(output.pin))
        .map(|(_, output)| format!("{} ({})", output.pin, output.name))
        .collect();
    error(code, span, message, "expected a pin with a free PWM output").with_hint(
        match free.as_slice() {
            [] => "no PWM pin is left".to_string(),
            free => format!("free: {}", free.join(", ")),
        },
    )
}

fn none_left(chip: &Chip, channel: &Channel) -> crate::diagnostic::Diagnostic {
    let pins: BTreeSet<Pin> = chip.outputs().map(|(_, output)| output.pin).collect();
    let names: Vec<String> = pins.iter().map(Pin::to_string).collect();
    let message = format!("no PWM pin is left for channel `{}`", channel.name.value);
    error(
        "C015",
        channel.name.span,
        message,
        "expected fewer channels, or another chip",
    )
    .with_hint(format!("{} has PWM on {}", chip.title, names.join(", ")))
}
