//! Who wants which pin, and whether they can have it.

use std::collections::BTreeMap;

use super::{ChannelPlan, Notes, PortMask, PumpPlan, caution, error};
use crate::chip::{Chip, Pin};
use crate::diagnostic::{Span, Spanned};
use crate::spec::{ClockSource, Project};

/// The pins that a project names, as far as they exist and are free.
#[derive(Debug, Default)]
pub(super) struct Claims {
    /// By channel; `None`: to be chosen, or in error.
    pub channels: Vec<Option<Pin>>,
    pub button: Option<Pin>,
    pub pump: Option<[Pin; 2]>,
    /// Everything that is taken, and by what.
    taken: BTreeMap<Pin, (String, Option<Span>)>,
}

impl Claims {
    pub fn is_free(&self, pin: Pin) -> bool {
        !self.taken.contains_key(&pin)
    }
}

/// Goes through all pins named in the project, in the order of importance for the messages.
pub(super) fn claim(chip: &Chip, project: &Project, notes: &mut Notes) -> Claims {
    let mut claims = Claims::default();
    claims.taken.extend(
        chip.reset
            .map(|pin| (pin, ("the reset pin".to_string(), None))),
    );
    reserve_clock_pins(chip, project, &mut claims);

    for channel in &project.channels {
        let user = format!("channel `{}`", channel.name.value);
        let pin = channel
            .pin
            .as_ref()
            .and_then(|pin| take(chip, pin, user, &mut claims, notes));
        claims.channels.push(pin);
    }
    if let Some(button) = &project.button {
        claims.button = take(
            chip,
            &button.pin,
            "the button".to_string(),
            &mut claims,
            notes,
        );
    }
    if let Some(pump) = &project.charge_pump {
        let [first, second] = &pump.pins;
        let user = || "the charge pump".to_string();
        let first = take(chip, first, user(), &mut claims, notes);
        let second = take(chip, second, user(), &mut claims, notes);
        claims.pump = first.zip(second).map(|(first, second)| [first, second]);
    }
    claims
}

fn reserve_clock_pins(chip: &Chip, project: &Project, claims: &mut Claims) {
    let (pins, what): (Vec<Pin>, _) = match project.clock.map(|clock| clock.value.source) {
        Some(ClockSource::Crystal) => (chip.clocks.crystal_pins.clone(), "the crystal"),
        Some(ClockSource::External) => (
            chip.clocks.external_pin.into_iter().collect(),
            "the clock input",
        ),
        _ => return,
    };
    let span = project.clock.map(|clock| clock.span);
    for pin in pins {
        claims.taken.insert(pin, (what.to_string(), span));
    }
}

/// Takes a pin for a user; `None` after adding an error.
fn take(
    chip: &Chip,
    wanted: &Spanned<String>,
    user: String,
    claims: &mut Claims,
    notes: &mut Notes,
) -> Option<Pin> {
    let pin = wanted
        .value
        .parse::<Pin>()
        .ok()
        .filter(|&pin| chip.has(pin));
    let Some(pin) = pin else {
        let message = format!("{} has no pin `{}`", chip.title, wanted.value);
        notes.add(
            error(
                "C010",
                wanted.span,
                message,
                "expected a port pin of the chip",
            )
            .with_hint(format!("it has {}", port_list(chip))),
        );
        return None;
    };
    if let Some((holder, _)) = claims.taken.get(&pin) {
        notes.add(taken(chip, pin, wanted.span, &user, holder, claims));
        return None;
    }
    if let Some(function) = chip.programming.function(pin) {
        let message = format!("{pin}, used by {user}, is also the programmer's {function}");
        notes.add(
            caution(
                "C016",
                wanted.span,
                message,
                "what hangs on it must not hold it while programming",
            )
            .with_hint(
                "a string's switch or a button is fine behind 1 kohm or more; \
                            else unplug it to program",
            ),
        );
    }
    claims.taken.insert(pin, (user, Some(wanted.span)));
    Some(pin)
}

fn taken(
    chip: &Chip,
    pin: Pin,
    span: Span,
    user: &str,
    holder: &str,
    claims: &Claims,
) -> crate::diagnostic::Diagnostic {
    if chip.reset == Some(pin) {
        let message = format!("{pin} is the reset pin of {}", chip.title);
        return error("C011", span, message, "expected another pin").with_hint(
            "as a port pin it would need a fuse that shuts out the programmer; \
             duskloom leaves it alone",
        );
    }
    let message = format!("{pin} cannot be for {user}: it is taken by {holder}");
    let free: Vec<String> = free_pins(chip, claims).map(|pin| pin.to_string()).collect();
    error("C012", span, message, "expected a free pin").with_hint(match free.as_slice() {
        [] => "no pin is left".to_string(),
        free => format!("free: {}", free.join(", ")),
    })
}

fn free_pins<'a>(chip: &'a Chip, claims: &'a Claims) -> impl Iterator<Item = Pin> + 'a {
    let all = chip
        .ports
        .iter()
        .flat_map(|(&port, bits)| bits.iter().map(move |&bit| Pin { port, bit }));
    all.filter(|&pin| claims.is_free(pin))
}

/// `PA0 to PA2, PB0 to PB7`.
fn port_list(chip: &Chip) -> String {
    let port = |(port, bits): (&char, &Vec<u8>)| {
        let runs = bits.chunk_by(|a, b| a + 1 == *b).map(|run| match run {
            [only] => format!("P{port}{only}"),
            run => format!("P{port}{} to P{port}{}", run[0], run[run.len() - 1]),
        });
        runs.collect::<Vec<_>>().join(", ")
    };
    chip.ports.iter().map(port).collect::<Vec<_>>().join(", ")
}

/// The data direction bits of all that the firmware drives, by port.
pub(super) fn directions(channels: &[ChannelPlan], pump: Option<&PumpPlan>) -> Vec<PortMask> {
    let pumped = pump
        .iter()
        .flat_map(|pump| pump.pins.iter().map(|pin| pin.pin));
    let mut masks: BTreeMap<char, u8> = BTreeMap::new();
    for pin in channels.iter().map(|channel| channel.pin).chain(pumped) {
        *masks.entry(pin.port).or_default() |= pin.mask();
    }
    masks
        .into_iter()
        .map(|(port, mask)| PortMask {
            port,
            register: format!("DDR{port}"),
            mask,
        })
        .collect()
}
