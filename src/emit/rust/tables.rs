//! Types that depend on the tables' sizes.

use serde::Serialize;

use crate::design::Design;
use crate::light::Form;
use crate::score::{Format, StartField};

#[derive(Debug, Serialize)]
pub(super) struct Tables {
    /// The table of starts is too long for offsets of a byte.
    long_places: bool,
    /// The fields of a start record, in words.
    record: Vec<&'static str>,
    /// The type of an entry of the brightness table.
    light_type: &'static str,
}

impl Tables {
    pub(super) fn new(design: &Design) -> Self {
        let image = &design.deck.image;
        let starts = crate::score::starts_size(&image.starts, &image.format);
        let long_places = starts.0 > 255;
        let light_type = match &design.deck.light.form {
            Form::Plain8(_) => "u8",
            _ => "u16",
        };
        Self {
            long_places,
            record: record(&image.format),
            light_type,
        }
    }
}

fn record(format: &Format) -> Vec<&'static str> {
    let words = |field| match field {
        StartField::Channels => "how many channels",
        StartField::Program => "where their program is",
        StartField::Ahead => "ticks that the first one is ahead",
        StartField::Step => "ticks that each further one is ahead of the one before it",
        StartField::Level => "the level to start from",
        StartField::Stream => "the stream of draws",
        StartField::Remainder => "the rest of the head start, in 1/256 of a tick",
    };
    format
        .start_record()
        .map(|(field, _)| words(field))
        .collect()
}
