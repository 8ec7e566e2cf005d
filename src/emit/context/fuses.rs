//! The fuse bytes, why they are as they are, and how a programmer writes them.

use serde::Serialize;

use crate::design::Design;
use crate::target::FusePlan;

#[derive(Debug, Serialize)]
pub(super) struct Fuses {
    heading: String,
    summary: String,
    bytes: Vec<Fuse>,
    /// Those that a new chip has otherwise.
    written: Vec<Fuse>,
    bit_time: BitTime,
}

#[derive(Debug, Serialize)]
struct Fuse {
    name: &'static str,
    memory: &'static str,
    value: u8,
    reason: String,
}

/// A programmer's bit.
#[derive(Debug, Serialize)]
struct BitTime {
    microseconds: u64,
    why: &'static str,
}

pub(super) fn fuses(design: &Design) -> Fuses {
    let plan = &design.plan;
    let summary = if plan.needs_fuses() {
        "this project needs other ones than a new chip has"
    } else {
        "a new chip's are right as they are"
    };
    let shown = |fuse: &FusePlan| Fuse {
        name: fuse.name,
        memory: fuse.memory,
        value: fuse.value,
        reason: fuse.reason.clone(),
    };
    Fuses {
        heading: format!("The fuses; {summary}."),
        summary: summary.into(),
        bytes: plan.fuses.iter().map(shown).collect(),
        written: plan.fuses_to_write().map(shown).collect(),
        bit_time: BitTime {
            microseconds: plan.bit_time.0.div_ceil(1_000),
            why: "a programmer must stay below a quarter of the clock that the chip has in reset",
        },
    }
}
