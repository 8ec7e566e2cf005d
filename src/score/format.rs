//! How a score's operations are written as bytes. Chosen per project: what it does not use costs
//! nothing, and operands are as narrow as its times and its size allow.

use serde::Serialize;

use crate::score::program::{Label, Op, Score};
use crate::units::{Bytes, Ticks};

/// The form of a project's programs and of the table that starts them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Format {
    /// Lengths have two bytes, high byte first, instead of one.
    pub long_ticks: bool,
    /// Addresses have two bytes, low byte first, instead of one.
    pub long_addresses: bool,
    /// Lengths carry two bytes of fraction.
    pub fractions: bool,
    pub jump: bool,
    pub random: bool,
    pub random_jump: bool,
    pub keep: bool,
    pub wait: bool,
    /// Lines can be slow. Only where lengths have two bytes.
    pub slow: bool,
    /// Counters of nested repetitions; 0: no `Repeat`.
    pub slots: u8,
    pub branch: bool,
    /// Every channel keeps where its program starts, so that starting it again takes a byte. Otherwise
    /// each program says it, and channels take less memory.
    pub home: bool,
    /// Something goes to another place; where there are no homes, be it its program's start.
    pub goto: bool,
    /// Every channel has a generator of its own, so that some can agree.
    pub streams: bool,
    pub start: StartFormat,
}

/// The fields of a start record besides the program and the count of channels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct StartFormat {
    /// Every scene is one run: all channels play one program, evenly apart. Otherwise scenes are
    /// lists of runs, each with the number of channels it covers.
    pub uniform: bool,
    /// Bytes of the head start of a run's first channel: 0 (none has any), 1 or 2.
    pub ahead: u8,
    /// Bytes of what each further channel is ahead of the one before it: 0, 1 or 2.
    pub step: u8,
    /// Whether runs have a level to start from, other than dark.
    pub initial: bool,
    /// Whether runs have what rounding their head start left over.
    pub remainder: bool,
}

/// The operations that have a code of their own, in the place of a length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Code {
    /// Only where a form has slow lines: elsewhere its byte begins a length.
    Slow,
    /// Start the program again. Only where a form has homes.
    Again,
    Jump,
    RandomJump,
    Random,
    Keep,
    Wait,
    Repeat,
    Branch,
    Goto,
}

/// Codes take the values from here up; lengths, or the high bytes of long ones, those below the first
/// that the form has.
const FIRST_CODE: u8 = 0xF6;

impl Code {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Slow,
        Self::Again,
        Self::Jump,
        Self::RandomJump,
        Self::Random,
        Self::Keep,
        Self::Wait,
        Self::Repeat,
        Self::Branch,
        Self::Goto,
    ];

    /// The byte that stands for it.
    pub const fn byte(self) -> u8 {
        FIRST_CODE + self as u8
    }
}

/// How wide a form's operands are, and whether its lines can be slow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Widths {
    pub long_ticks: bool,
    pub long_addresses: bool,
    pub slow: bool,
}

impl Widths {
    /// All that there are. Slow ones first: where they are asked for, they are the smallest most
    /// often, and the others need not be tried.
    pub const ALL: [Self; 6] = [
        Self::new(true, false, true),
        Self::new(true, true, true),
        Self::new(false, false, false),
        Self::new(false, true, false),
        Self::new(true, false, false),
        Self::new(true, true, false),
    ];

    const fn new(long_ticks: bool, long_addresses: bool, slow: bool) -> Self {
        Self {
            long_ticks,
            long_addresses,
            slow,
        }
    }

    /// What every channel keeps that has a home: two addresses, two times, two levels and a distance.
    fn track_with_home(self) -> Bytes {
        let size = |long: bool| if long { 2 } else { 1 };
        Bytes(2 * size(self.long_addresses) + 2 * size(self.long_ticks) + 3)
    }
}

impl Format {
    /// The narrowest form for the score with the given widths. Channels have homes if they still fit
    /// in so much `room` each. Start fields are filled in by `score::start`.
    pub fn of(score: &Score, widths: Widths, room: Bytes) -> Self {
        let Widths {
            long_ticks,
            long_addresses,
            slow,
        } = widths;
        let ops = || {
            score
                .programs
                .iter()
                .flat_map(|p| p.lines.iter().map(|line| &line.op))
        };
        let home = widths.track_with_home() <= room;
        let slots = ops().filter_map(|op| match op {
            Op::Repeat { slot, .. } => Some(slot + 1),
            _ => None,
        });
        Self {
            long_ticks,
            long_addresses,
            fractions: score.fractions,
            jump: ops().any(|op| matches!(op, Op::Jump { .. })),
            random: ops().any(|op| matches!(op, Op::Random { .. })),
            random_jump: ops().any(|op| matches!(op, Op::Random { jump: true, .. })),
            keep: ops().any(|op| matches!(op, Op::Keep { .. })),
            wait: ops().any(|op| matches!(op, Op::Wait { .. })),
            slow,
            slots: slots.max().unwrap_or(0),
            branch: ops().any(|op| matches!(op, Op::Branch { .. })),
            goto: ops().any(|op| matches!(op, Op::Goto { to } if !home || to.0 > 0)),
            home,
            streams: score.has_shared_draws(),
            start: StartFormat {
                uniform: true,
                ahead: 0,
                step: 0,
                initial: false,
                remainder: false,
            },
        }
    }

    /// What a byte that begins an operation stands for. `None`: it begins a length.
    pub fn code(&self, first: u8) -> Option<Code> {
        let all = Code::ALL.into_iter();
        all.filter(|code| self.slow || *code != Code::Slow)
            .find(|code| code.byte() == first)
    }

    /// The longest length that one operation can take.
    pub fn longest(&self) -> Ticks {
        let lowest = if self.slow { Code::Slow } else { Code::Again };
        let first = u32::from(lowest.byte()) - 1;
        Ticks(if self.long_ticks {
            first << 8 | 0xFF
        } else {
            first
        })
    }

    /// The longest length that can be drawn: no code has to fit beside it.
    pub fn longest_drawn(&self) -> Ticks {
        Ticks(if self.long_ticks { 0xFFFF } else { 0xFF })
    }

    /// Bytes of an address.
    pub fn address(&self) -> usize {
        if self.long_addresses { 2 } else { 1 }
    }

    /// Bytes of a length that is drawn or waited for.
    pub fn ticks(&self) -> usize {
        if self.long_ticks { 2 } else { 1 }
    }

    /// Bytes that an operation takes.
    pub fn size(&self, op: &Op) -> Bytes {
        let length = self.ticks() + if self.fractions { 2 } else { 0 };
        let size = match op {
            Op::Fade { .. } => length + 1,
            Op::Jump { .. } => 1 + length + 1,
            Op::Random { .. } => 1 + 2 * self.ticks() + 2,
            Op::Keep { .. } => 1 + 2 * self.ticks(),
            Op::Wait { .. } => 1 + length,
            Op::Slow { .. } => 2,
            Op::Repeat { .. } => 2 + usize::from(self.slots > 1) + self.address(),
            Op::Branch { to } => 2 + to.len() * self.address(),
            Op::Goto { to: Label(0) } if self.home => 1,
            Op::Goto { .. } => 1 + self.address(),
        };
        Bytes(size as u32)
    }
}
