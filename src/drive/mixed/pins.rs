//! Which channels are outputs of timers, and which are pins of the port.

use std::collections::BTreeSet;

use crate::chip::{Chip, Pin};
use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::timer::{self, OutputPlan, Place, Placed};
use crate::drive::{ChannelPlan, Way, plain};
use crate::spec::{Channel, Project};
use crate::target::Claims;

/// More outputs the interrupt cannot see to before the shortest planes.
const MOST_OUTPUTS: usize = 6;

/// Outputs of timers as far as they go, and for the others pins of one port. `None` after adding an error.
pub(in crate::drive) fn place<'a>(
    chip: &'static Chip,
    project: &'a Project,
    claims: &mut Claims<'a>,
    notes: &mut Notes,
) -> Option<Placed> {
    let mut places = timer::assign(chip, project, claims);
    keep_to_the_most(&mut places);
    let others = project.channels.iter().enumerate();
    let others = others.filter(|(index, channel)| !channel.is_plain() && places[*index].is_none());
    let others: Vec<(usize, &Channel)> = others.collect();
    let outputs = places.iter().flatten().count();
    if outputs == 0 || others.is_empty() {
        notes.add(no_mixture(project, outputs));
        return None;
    }
    let named = others
        .iter()
        .filter_map(|(index, _)| claims.channels[*index]);
    let used: BTreeSet<char> = named.map(|pin| pin.port).collect();
    if used.len() > 1 {
        notes.add(many_ports(project, &others, claims));
        return None;
    }
    let port = used.first().copied();
    let port = port.or_else(|| roomiest(chip, claims))?;
    let mut pins: Vec<Option<Pin>> = claims.channels.clone();
    for (index, channel) in others {
        if channel.pin.is_none() {
            pins[index] = free(chip, claims, port);
            match pins[index] {
                Some(pin) => claims.take_for(pin, channel),
                None => notes.add(none_left(chip, channel, port)),
            }
        }
    }
    let plain = plain::place(chip, project, claims, notes);
    let mut outputs: Vec<OutputPlan> = Vec::new();
    let mut channels = Vec::new();
    for (index, channel) in project.channels.iter().enumerate() {
        let pin = if channel.is_plain() {
            plain[index]
        } else {
            pins[index]
        };
        let (pin, way) = match places[index] {
            Some(place) => {
                let output = timer::of_channel(chip, channel, place);
                let way = Way::Output(output.output);
                outputs.push(output);
                (Some(place.1.pin), way)
            }
            None if pin.is_some_and(|pin| pin.port == port) => (pin, Way::Planes),
            None => (pin, Way::Latch),
        };
        channels.push(pin.map(|pin| ChannelPlan::new(pin, channel, way)));
    }
    let channels: Option<Vec<ChannelPlan>> = channels.into_iter().collect();
    Some(Placed {
        channels: channels?,
        outputs,
    })
}

fn keep_to_the_most(places: &mut [Option<Place>]) {
    let placed = places.iter_mut().filter(|place| place.is_some());
    placed.skip(MOST_OUTPUTS).for_each(|place| *place = None);
}

/// The port with the most free pins.
fn roomiest(chip: &Chip, claims: &Claims) -> Option<char> {
    let free = |port: char| {
        let pins = chip.pins().filter(|pin| pin.port == port);
        pins.filter(|pin| claims.is_free(*pin)).count()
    };
    let ports = chip.ports.keys().copied();
    ports.rev().max_by_key(|port| free(*port))
}

/// None of the programmer's, where there is another.
fn free(chip: &Chip, claims: &Claims, port: char) -> Option<Pin> {
    let pins = chip.pins().filter(|pin| pin.port == port);
    let free = pins.filter(|pin| claims.is_free(*pin));
    free.min_by_key(|pin| (chip.programming.function(*pin).is_some(), *pin))
}

fn no_mixture(project: &Project, outputs: usize) -> Diagnostic {
    let (message, hint) = match outputs {
        0 => ("no channel is on a PWM pin", "`drive: port` does without"),
        _ => (
            "every channel is on a PWM pin, and nothing is left for a port",
            "`drive: timer` does without",
        ),
    };
    Diagnostic::error("C037", project.pwm.drive.span, message)
        .label("expected channels on PWM pins, and others")
        .hint(format!("{hint}; left out, the drive is chosen to suit"))
}

fn many_ports(project: &Project, others: &[(usize, &Channel)], claims: &Claims) -> Diagnostic {
    let of = |index: usize| claims.channels[index].map(|pin| pin.port);
    let first = others.iter().find_map(|(index, _)| of(*index));
    let odd = others
        .iter()
        .find(|(index, _)| of(*index).is_some() && of(*index) != first);
    let span = odd.map_or(project.chip.span, |(_, channel)| {
        let pin = channel.pin.as_ref();
        pin.map_or(channel.name.span, |pin| pin.span)
    });
    let port = first.unwrap_or('A');
    Diagnostic::error(
        "C014",
        span,
        "channels without PWM are on more than one port",
    )
    .label(format!("expected a pin of P{port}, or one with PWM"))
    .hint("an interrupt has the time for one port beside the timers")
}

fn none_left(chip: &Chip, channel: &Channel, port: char) -> Diagnostic {
    let name = &channel.name.value;
    let message = format!(
        "no pin of P{port} of {} is left for channel `{name}`",
        chip.title
    );
    Diagnostic::error("C015", channel.name.span, message)
        .label("expected fewer channels, or another chip")
        .hint("beside the timers, channels can be on one port")
}
