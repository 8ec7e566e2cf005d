//! Who wants which pin, and whether they can have it.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::chip::{Chip, Pin};
use crate::diagnostic::{Diagnostic, Notes, Span, Spanned, short};
use crate::spec::{Channel, ClockSource, Project};

/// The pins that a project names, as far as they exist and are free.
#[derive(Debug, Clone)]
pub struct Claims<'a> {
    chip: &'a Chip,
    /// By channel; `None`: to be chosen, or in error.
    pub channels: Vec<Option<Pin>>,
    pub button: Option<Pin>,
    /// By contact; `None`: in error.
    pub contacts: Vec<Option<Pin>>,
    pub selector: Option<Pin>,
    pub knob: Option<Pin>,
    pub sensor: Option<Pin>,
    pub pump: Option<[Pin; 2]>,
    /// Everything that is taken, by what and where in the file.
    taken: BTreeMap<Pin, (User<'a>, Span)>,
}

/// What a pin is for.
#[derive(Debug, Clone, Copy)]
enum User<'a> {
    Channel(&'a str),
    Button,
    Contact(&'a str),
    Pump,
    Crystal,
    ClockInput,
}

impl<'a> Claims<'a> {
    /// Goes through all pins that the project names.
    pub fn new(chip: &'a Chip, project: &'a Project, notes: &mut Notes) -> Self {
        let mut claims = Self {
            chip,
            channels: Vec::new(),
            button: None,
            contacts: Vec::new(),
            selector: None,
            knob: None,
            sensor: None,
            pump: None,
            taken: BTreeMap::new(),
        };
        claims.reserve_clock_pins(project);
        for channel in &project.channels {
            let user = User::Channel(&channel.name.value);
            let pin = channel
                .pin
                .as_ref()
                .and_then(|pin| claims.take(pin, user, notes));
            claims.channels.push(pin);
        }
        if let Some(button) = &project.button {
            claims.button = claims.take(&button.pin, User::Button, notes);
        }
        for contact in &project.contacts {
            let user = User::Contact(&contact.name.value);
            let pin = claims.take(&contact.pin, user, notes);
            claims.contacts.push(pin);
        }
        if let Some(selector) = &project.selector {
            let user = User::Contact(&selector.name.value);
            claims.selector = claims.take(&selector.pin, user, notes);
        }
        if let Some(knob) = &project.knob {
            let user = User::Contact(&knob.name.value);
            claims.knob = claims.take(&knob.pin, user, notes);
        }
        if let Some(sensor) = &project.sensor {
            let user = User::Contact(&sensor.name.value);
            claims.sensor = claims.take(&sensor.pin, user, notes);
        }
        if let Some(pump) = &project.charge_pump {
            let [first, second] = &pump.pins;
            let first = claims.take(first, User::Pump, notes);
            let second = claims.take(second, User::Pump, notes);
            claims.pump = first.zip(second).map(|(first, second)| [first, second]);
        }
        claims
    }

    /// A pin that the planner chose for a channel.
    pub fn take_for(&mut self, pin: Pin, channel: &'a Channel) {
        self.taken
            .insert(pin, (User::Channel(&channel.name.value), channel.name.span));
    }

    /// The first of these pins that is taken, and the place where.
    pub fn taken_of(&self, pins: &[Pin]) -> Option<(Pin, Span)> {
        pins.iter()
            .find_map(|pin| self.taken.get(pin).map(|(_, span)| (*pin, *span)))
    }

    pub fn is_free(&self, pin: Pin) -> bool {
        self.chip.reset != Some(pin) && !self.taken.contains_key(&pin)
    }

    fn reserve_clock_pins(&mut self, project: &Project) {
        let clocks = &self.chip.clocks;
        let Some(clock) = project.clock else { return };
        let (user, pins) = match clock.value.source {
            ClockSource::Internal => return,
            ClockSource::Crystal => (User::Crystal, clocks.crystal_pins.as_slice()),
            ClockSource::External => (User::ClockInput, clocks.external_pin.as_slice()),
        };
        self.taken
            .extend(pins.iter().map(|&pin| (pin, (user, clock.span))));
    }

    /// Takes a pin for a user; `None` after adding an error.
    fn take(&mut self, wanted: &Spanned<String>, user: User<'a>, notes: &mut Notes) -> Option<Pin> {
        let chip = self.chip;
        let Some(pin) = wanted.value.parse().ok().filter(|&pin| chip.has(pin)) else {
            let message = format!("{} has no pin `{}`", chip.title, short(&wanted.value));
            notes.add(
                Diagnostic::error("C010", wanted.span, message)
                    .label("expected a port pin of the chip")
                    .hint(format!("it has {}", port_list(chip))),
            );
            return None;
        };
        if let Some(fault) = self.fault_with(pin, user, wanted.span) {
            notes.add(fault);
            return None;
        }
        self.taken.insert(pin, (user, wanted.span));
        Some(pin)
    }

    fn fault_with(&self, pin: Pin, user: User, span: Span) -> Option<Diagnostic> {
        if self.chip.reset == Some(pin) {
            let message = format!("{pin} is the reset pin of {}", self.chip.title);
            let reason = "as a port pin it would need a fuse that shuts out the programmer; \
                          duskloom leaves it alone";
            return Some(
                Diagnostic::error("C011", span, message)
                    .label("expected another pin")
                    .hint(reason),
            );
        }
        let (holder, _) = self.taken.get(&pin)?;
        let message = format!("{pin} cannot be for {user}: it is taken by {holder}");
        let hint = match user {
            User::Channel(_) => self.free_outputs(),
            _ => self.free_pins(),
        };
        Some(
            Diagnostic::error("C012", span, message)
                .label("expected a free pin")
                .hint(hint),
        )
    }

    /// The free PWM pins, as a hint.
    pub fn free_outputs(&self) -> String {
        let free: BTreeSet<Pin> = (self.chip.outputs())
            .map(|(_, output)| output.pin)
            .filter(|&pin| self.is_free(pin))
            .collect();
        let names: Vec<String> = free.iter().map(Pin::to_string).collect();
        match names.as_slice() {
            [] => "no PWM pin is left".to_string(),
            names => format!("free PWM pins: {}", names.join(", ")),
        }
    }

    /// As a hint.
    fn free_pins(&self) -> String {
        let free: Vec<String> = self
            .chip
            .pins()
            .filter(|&pin| self.is_free(pin))
            .map(|pin| pin.to_string())
            .collect();
        match free.as_slice() {
            [] => "no pin is left".to_string(),
            free => format!("free: {}", free.join(", ")),
        }
    }
}

impl fmt::Display for User<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Channel(name) => write!(f, "channel `{name}`"),
            Self::Button => f.write_str("the button"),
            Self::Contact(name) => write!(f, "input `{name}`"),
            Self::Pump => f.write_str("the charge pump"),
            Self::Crystal => f.write_str("the crystal"),
            Self::ClockInput => f.write_str("the clock input"),
        }
    }
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
