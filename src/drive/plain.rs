//! Plain channels, which are on or off: any pin will do.

use crate::chip::{Chip, Pin};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{Channel, Project};
use crate::target::Claims;

/// A pin for each plain channel, by channel: the one it names, or else a free one that is of the least use to
/// others. An error says which channel gets none.
pub(super) fn place<'a>(
    chip: &'static Chip,
    project: &'a Project,
    claims: &mut Claims<'a>,
    notes: &mut Notes,
) -> Vec<Option<Pin>> {
    let mut placed = Vec::new();
    for (channel, named) in project.channels.iter().zip(claims.channels.clone()) {
        let mut pin = named.filter(|_| channel.is_plain());
        if channel.is_plain() && channel.pin.is_none() {
            pin = free(chip, claims);
            match pin {
                Some(pin) => claims.take_for(pin, channel),
                None => notes.add(none_left(chip, channel)),
            }
        }
        placed.push(pin);
    }
    placed
}

/// No timer's output where there is another, and none of the programmer's.
fn free(chip: &Chip, claims: &Claims) -> Option<Pin> {
    let free = chip.pins().filter(|pin| claims.is_free(*pin));
    free.min_by_key(|pin| {
        let programs = chip.programming.function(*pin).is_some();
        (programs, !chip.outputs_on(*pin).is_empty(), *pin)
    })
}

fn none_left(chip: &Chip, channel: &Channel) -> Diagnostic {
    let name = &channel.name.value;
    let message = format!("no pin of {} is left for channel `{name}`", chip.title);
    Diagnostic::error("C015", channel.name.span, message)
        .label("expected fewer channels, or another chip")
        .hint("a plain channel can be on any free pin, but not on the reset pin")
}
