//! Which pins of which ports.

use std::collections::{BTreeMap, BTreeSet};

use crate::chip::{Chip, Pin};
use crate::diagnostic::{Diagnostic, Notes};
use crate::drive::{ChannelPlan, Way, plain};
use crate::spec::{Channel, Project};
use crate::target::Claims;

/// With more there would be too few cycles for the shortest planes.
pub(super) const MOST_PORTS: usize = 2;

/// Whether the pins that dimmed channels name are on few enough ports.
pub(in crate::drive) fn reaches(project: &Project, claims: &Claims) -> bool {
    let named = project.channels.iter().zip(&claims.channels);
    let dimmed = named.filter(|(channel, _)| !channel.is_plain());
    let used: BTreeSet<char> = dimmed.filter_map(|(_, pin)| Some((*pin)?.port)).collect();
    used.len() <= MOST_PORTS
}

/// A pin for each channel, on few ports. `None` after adding an error.
pub(super) fn place<'a>(
    chip: &'static Chip,
    project: &'a Project,
    claims: &mut Claims<'a>,
    notes: &mut Notes,
) -> Option<Vec<ChannelPlan>> {
    let dims = project.channels.iter().any(|channel| !channel.is_plain());
    // Where anything is dimmed, plain pins need not be on its ports.
    let counts = |channel: &Channel| !(dims && channel.is_plain());
    let named = project.channels.iter().zip(&claims.channels);
    let named = named.filter(|(channel, _)| counts(channel));
    let mut used: BTreeSet<char> = named.filter_map(|(_, pin)| Some((*pin)?.port)).collect();
    if dims && used.len() > MOST_PORTS {
        notes.add(many_ports(project, claims, &used));
        return None;
    }
    used = used.into_iter().take(MOST_PORTS).collect();
    let mut free = in_order_of_choice(chip, project, claims, &used).into_iter();
    let mut dimmed = Vec::new();
    let mut without = Vec::new();
    for (channel, pin) in project.channels.iter().zip(claims.channels.clone()) {
        let chosen = channel.pin.is_none() && counts(channel);
        let pin = if chosen { free.next() } else { pin };
        match pin {
            Some(pin) if chosen => claims.take_for(pin, channel),
            None if chosen => without.push(channel),
            _ => {}
        }
        dimmed.push(pin);
    }
    if let [first, ..] = without.as_slice() {
        notes.add(none_left(chip, first, without.len()));
    }
    let plain = if dims {
        plain::place(chip, project, claims, notes)
    } else {
        dimmed.clone()
    };
    let pins = dimmed.into_iter().zip(plain).zip(&project.channels);
    let pins: Vec<Option<Pin>> = pins
        .map(|((dimmed, plain), channel)| if counts(channel) { dimmed } else { plain })
        .collect();
    let written = pins.iter().zip(&project.channels);
    let written = written.filter(|(_, channel)| counts(channel));
    let written: BTreeSet<char> = written.filter_map(|(pin, _)| Some((*pin)?.port)).collect();
    let written: BTreeSet<char> = written.into_iter().take(MOST_PORTS).collect();
    let plan = |(pin, channel): (Option<Pin>, &Channel)| {
        let pin = pin?;
        let way = match written.contains(&pin.port) {
            true => Way::Planes,
            false => Way::Latch,
        };
        Some(ChannelPlan::new(pin, channel, way))
    };
    pins.into_iter().zip(&project.channels).map(plan).collect()
}

/// The free pins of as few ports as will do: of those in use, or else of the one with the most; what the
/// programmer needs comes last.
fn in_order_of_choice(
    chip: &Chip,
    project: &Project,
    claims: &Claims,
    used: &BTreeSet<char>,
) -> Vec<Pin> {
    let mut free: BTreeMap<char, Vec<Pin>> = BTreeMap::new();
    for pin in chip.pins().filter(|pin| claims.is_free(*pin)) {
        free.entry(pin.port).or_default().push(pin);
    }
    let wanted = project.channels.iter().filter(|one| one.pin.is_none());
    let wanted = wanted.count();
    let mut ports: Vec<(char, Vec<Pin>)> = free.into_iter().collect();
    ports.sort_by_key(|(port, pins)| {
        (
            !used.contains(port),
            pins.len() < wanted,
            usize::MAX - pins.len(),
        )
    });
    let programs = |pin: &Pin| chip.programming.function(*pin).is_some();
    let ports = ports.into_iter().take(MOST_PORTS);
    ports
        .flat_map(|(_, mut pins)| {
            pins.sort_by_key(|pin| (programs(pin), *pin));
            pins
        })
        .collect()
}

fn many_ports(project: &Project, claims: &Claims, used: &BTreeSet<char>) -> Diagnostic {
    // The port with the fewest channels is the one to do without.
    let on = |port: char| {
        let pins = claims.channels.iter().flatten();
        pins.filter(|pin| pin.port == port).count()
    };
    let fewest = used
        .iter()
        .copied()
        .min_by_key(|port| on(*port))
        .unwrap_or('A');
    let channel = project.channels.iter().zip(&claims.channels);
    let mut odd = channel.filter(|(_, pin)| pin.is_some_and(|pin| pin.port == fewest));
    let span = odd
        .next()
        .map_or(project.chip.span, |(channel, _)| span(channel));
    let others = used.iter().filter(|port| **port != fewest);
    let others: Vec<String> = others
        .take(MOST_PORTS)
        .map(|port| format!("P{port}"))
        .collect();
    Diagnostic::error(
        "C014",
        span,
        format!("the channels are on {} ports", used.len()),
    )
    .label(format!("expected pins of {MOST_PORTS} ports at most"))
    .hint(format!("use pins of {}", others.join(" and ")))
}

fn none_left(chip: &Chip, channel: &Channel, count: usize) -> Diagnostic {
    let more = match count {
        1 => String::new(),
        _ => format!(" and {} more", count - 1),
    };
    let name = &channel.name.value;
    let message = format!(
        "no pin of {} is left for channel `{name}`{more}",
        chip.title
    );
    Diagnostic::error("C015", channel.name.span, message)
        .label("expected fewer channels, or another chip")
        .hint(format!(
            "channels can be on {MOST_PORTS} ports, but not on the reset pin"
        ))
}

/// Where a channel's pin is written, or else its name.
pub(super) fn span(channel: &Channel) -> crate::diagnostic::Span {
    channel
        .pin
        .as_ref()
        .map_or(channel.name.span, |pin| pin.span)
}
