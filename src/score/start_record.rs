//! The layout of a start record: its fields, their order and their widths.

use crate::score::format::Format;
use crate::score::start::Run;

/// A field of a start record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StartField {
    /// How many channels.
    Channels,
    /// Where their program is.
    Program,
    /// Ticks that the first one is ahead.
    Ahead,
    /// Ticks that each further one is ahead of the one before it.
    Step,
    /// The level to start from.
    Level,
    /// The stream of draws.
    Stream,
    /// The rest of the head start, in 1/256 of a tick.
    Remainder,
}

impl Format {
    /// The fields that a start record has, in order, and the bytes of each.
    pub fn start_record(&self) -> impl Iterator<Item = (StartField, usize)> {
        let start = &self.start;
        [
            (StartField::Channels, usize::from(!start.uniform)),
            (StartField::Program, self.address()),
            (StartField::Ahead, start.ahead.into()),
            (StartField::Step, start.step.into()),
            (StartField::Level, start.initial.into()),
            (StartField::Stream, self.streams.into()),
            (StartField::Remainder, start.remainder.into()),
        ]
        .into_iter()
        .filter(|(_, bytes)| *bytes > 0)
    }

    /// Bytes of a start record.
    pub fn start_record_size(&self) -> usize {
        self.start_record().map(|(_, bytes)| bytes).sum()
    }
}

impl Run {
    /// What its record has in a field, apart from the address of its program.
    pub fn field(&self, field: StartField) -> Option<i32> {
        match field {
            StartField::Channels => Some(self.channels.into()),
            StartField::Program => None,
            StartField::Ahead => Some(self.ahead.0 as i32),
            StartField::Step => Some(self.step.0),
            StartField::Level => Some(self.initial.0.into()),
            StartField::Stream => Some(self.stream.into()),
            StartField::Remainder => Some(i32::from(self.remainder as i8)),
        }
    }
}
