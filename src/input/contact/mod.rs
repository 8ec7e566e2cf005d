//! A contact: when its closing counts.

mod watch;

use serde::Serialize;

use crate::plan::Tick;
use crate::spec::{CONTACTS, Contact};
use crate::target::Wanted;

pub use watch::Watch;

/// Names of what contacts count in.
const NAMES: [&str; CONTACTS] = [
    "contact_1",
    "contact_2",
    "contact_3",
    "contact_4",
    "contact_5",
    "contact_6",
];

/// When a contact counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ContactTicks {
    /// Its place among the contacts.
    pub index: u8,
    /// It counts once it was seen closed on so many ticks in a row, if before that it was seen open on as
    /// many. So one that is closed when power comes does nothing until it has been open.
    pub debounce: u16,
}

impl ContactTicks {
    pub fn new(index: usize, contact: &Contact, tick: &Tick) -> Self {
        let ticks = tick.looks(contact.debounce.value);
        Self {
            index: index as u8,
            debounce: ticks.clamp(2.0, 30_000.0) as u16,
        }
    }

    /// What it counts in.
    pub fn name(self) -> &'static str {
        NAMES[usize::from(self.index)]
    }

    pub fn variable(self) -> Wanted {
        let note = "ticks for which the contact was open, then closed";
        Wanted::new(self.name(), self.is_wide(), note).cleared(true)
    }

    /// What the count comes to when it counts.
    pub fn full(self) -> u16 {
        2 * self.debounce
    }

    /// Whether the count needs two bytes.
    pub fn is_wide(self) -> bool {
        self.full() > 255
    }
}
