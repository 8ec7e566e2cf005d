//! What comes in: the button and further ones, contacts that play something once, a switch, a knob, and a sensor
//! of light.

use super::project::{PatternId, Project};
use crate::diagnostic::Spanned;
use crate::units::{Lux, Ohms, Time};

/// The most contacts, further buttons among them.
pub const CONTACTS: usize = 6;

/// A button at a pin.
#[derive(Debug, Clone)]
pub struct Button {
    pub pin: Spanned<String>,
    pub to: ButtonTo,
    /// How long a press must last to be a hold.
    pub hold: Spanned<Time>,
    /// How long a press must last to count at all.
    pub debounce: Spanned<Time>,
}

impl Project {
    /// Whether there is a button, and it connects its pin to the supply.
    pub fn button_to_supply(&self) -> bool {
        let button = self.button.as_ref();
        button.is_some_and(|button| button.to == ButtonTo::Supply)
    }

    /// What is played once, and not until told otherwise: when power comes, then by contact.
    pub fn played_once(&self) -> impl Iterator<Item = &Once> {
        let by_contacts = self.contacts.iter().filter_map(Contact::plays);
        self.start.iter().chain(by_contacts)
    }

    /// The further button for this, by its place among the contacts.
    pub fn tapped(&self, tap: Tap) -> Option<usize> {
        let mut contacts = self.contacts.iter();
        contacts.position(|contact| contact.does == Does::Taps(tap))
    }
}

/// What a button or a contact connects its pin to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ButtonTo {
    /// The chip's own pull-up holds the pin high while it is open.
    Ground,
    /// A resistor to ground must hold the pin low while it is open.
    Supply,
}

/// A contact at a pin: of a door, a reed, the output of a motion sensor, a further button.
#[derive(Debug, Clone)]
pub struct Contact {
    pub name: Spanned<String>,
    pub pin: Spanned<String>,
    pub to: ButtonTo,
    /// How long it must be closed to count, and then open before it counts again.
    pub debounce: Spanned<Time>,
    pub does: Does,
}

impl Contact {
    /// What closing it plays.
    pub fn plays(&self) -> Option<&Once> {
        match &self.does {
            Does::Plays(once) => Some(once),
            Does::Taps(_) => None,
        }
    }

    /// `None`: it is no button.
    pub fn taps(&self) -> Option<Tap> {
        match self.does {
            Does::Plays(_) => None,
            Does::Taps(tap) => Some(tap),
        }
    }
}

/// What closing a contact does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Does {
    Plays(Once),
    /// It is a button.
    Taps(Tap),
}

/// What a tap on a further button does.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Tap {
    /// The next scene of the show.
    Next,
    /// The one before.
    Previous,
    /// A step of brightness up, and while it is held another and another.
    Brighter,
    /// The same down.
    Darker,
}

impl Tap {
    /// In words.
    pub fn does(self) -> &'static str {
        match self {
            Self::Next => "goes to the next",
            Self::Previous => "goes to the one before",
            Self::Brighter => "makes it brighter",
            Self::Darker => "makes it darker",
        }
    }
}

/// A pattern that is played once; then the scene before comes back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Once {
    pub pattern: Spanned<PatternId>,
    /// For how long. `None`: one round.
    pub lasts: Option<Spanned<Time>>,
}

/// A switch that chooses between two shows: the first while it is open, the second while it is closed.
#[derive(Debug, Clone)]
pub struct Selector {
    pub name: Spanned<String>,
    pub pin: Spanned<String>,
    pub to: ButtonTo,
    /// How long it must stay the other way to count.
    pub debounce: Spanned<Time>,
}

/// A knob: a potentiometer between ground and supply, with its wiper at a pin.
#[derive(Debug, Clone)]
pub struct Knob {
    pub name: Spanned<String>,
    pub pin: Spanned<String>,
    pub sets: Sets,
}

/// What a knob sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Sets {
    /// How much of all light is there: from dark to all of it.
    Brightness,
    /// How fast patterns go: from nearly still to as they are written.
    Speed,
}

/// A sensor of light: a light-dependent resistor from its pin to ground, with a resistor from there to the supply.
/// The light is on while it is dark around.
#[derive(Debug, Clone)]
pub struct Sensor {
    pub name: Spanned<String>,
    pub pin: Spanned<String>,
    /// The light comes on at less than `dark` and goes off at more than `bright`, which is more.
    pub dark: Spanned<Lux>,
    pub bright: Spanned<Lux>,
    /// For how long it must be so without a break.
    pub steady: Spanned<Time>,
    /// Of the light-dependent resistor, at 10 lux.
    pub resistance: Spanned<Ohms>,
}

/// What a sensor senses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Senses {
    Light,
}
