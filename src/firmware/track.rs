//! The state of one channel's player in memory.

use serde::Serialize;

use crate::plan::Plan;
use crate::score::Format;
use crate::units::Bytes;

/// How much memory a channel may take before it has to do without what it could also read: half of what
/// the chip has, for all of them (common practice, no source).
pub fn room_for_track(plan: &Plan) -> Bytes {
    Bytes(plan.chip.ram.size.0 / 2 / plan.drive.channels().len().max(1) as u32)
}

/// The fields of a track, in order.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Track {
    pub fields: Vec<Field>,
    pub size: Bytes,
}

#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Field {
    pub name: &'static str,
    pub offset: u32,
    pub size: u32,
    pub note: &'static str,
}

impl Track {
    pub fn new(format: &Format) -> Self {
        let ticks = format.ticks() as u32;
        let wanted = [
            ("AT", format.address() as u32, "where the program goes on"),
            (
                "HOME",
                if format.home {
                    format.address() as u32
                } else {
                    0
                },
                "where the program starts",
            ),
            ("LENGTH", ticks, "ticks of the whole line"),
            ("DEBT", ticks, "how far the line is from the next level"),
            ("LEVEL", 1, "the level shown"),
            ("GOAL", 1, "the level at the end of the line"),
            ("DISTANCE", 1, "how many levels the line spans"),
            (
                "SLOW",
                u32::from(format.slow),
                "in how many times FINE ticks it goes on; 0: each",
            ),
            (
                "COARSE",
                u32::from(format.slow),
                "how often FINE runs out until it goes on",
            ),
            ("FINE", u32::from(format.slow), "ticks of that"),
            (
                "CARRIED",
                if format.fractions { 2 } else { 0 },
                "fraction of a tick carried over",
            ),
            (
                "ROUNDS",
                u32::from(format.slots),
                "rounds left, by depth of nesting",
            ),
            (
                "SEED",
                if format.streams { 2 } else { 0 },
                "a generator of its own",
            ),
        ];
        let mut offset = 0;
        let mut fields = Vec::new();
        for (name, size, note) in wanted {
            if size > 0 {
                fields.push(Field {
                    name,
                    offset,
                    size,
                    note,
                });
                offset += size;
            }
        }
        Self {
            fields,
            size: Bytes(offset),
        }
    }
}
