//! What is playing: the fields that shows, buttons and chance live by, of which some survive a power
//! cut. Model, firmware and budget all have them from here, in this order.

use serde::Serialize;

use super::{Features, Rules};
use crate::score::Image;
use crate::units::Bytes;

/// The fields, in order of their addresses; none if the firmware always plays the same.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct State {
    pub fields: Vec<Kept>,
}

/// A field of the state.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Kept {
    /// Which of its scenes each show plays, a byte a show.
    Places(u8),
    /// Which show is on.
    Show,
    /// How much of the brightness buttons have taken.
    Dimmed,
    /// The state of the common generator, low byte first.
    Generator,
}

impl Kept {
    pub fn size(self) -> Bytes {
        Bytes(match self {
            Self::Places(shows) => shows.into(),
            Self::Show | Self::Dimmed => 1,
            Self::Generator => 2,
        })
    }
}

impl State {
    pub fn new(rules: &Rules, features: &Features, image: &Image) -> Self {
        let shows = image.score.shows.len() as u8;
        let wanted = [
            (rules.hops(), Kept::Places(shows)),
            (rules.hops() && shows > 1, Kept::Show),
            (rules.dims(), Kept::Dimmed),
            (features.draws, Kept::Generator),
        ];
        let there = wanted.into_iter().filter(|(there, _)| *there);
        Self {
            fields: there.map(|(_, field)| field).collect(),
        }
    }

    pub fn size(&self) -> Bytes {
        Bytes(self.fields.iter().map(|field| field.size().0).sum())
    }

    /// Where a field begins.
    pub fn place(&self, wanted: Kept) -> Option<Bytes> {
        let at = self.fields.iter().position(|field| *field == wanted)?;
        let before = self.fields[..at].iter().map(|field| field.size().0);
        Some(Bytes(before.sum()))
    }

    /// How many bytes lie before the generator.
    pub fn before_generator(&self) -> Bytes {
        let before = self
            .fields
            .iter()
            .filter(|field| **field != Kept::Generator);
        Bytes(before.map(|field| field.size().0).sum())
    }
}
