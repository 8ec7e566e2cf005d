//! The fuse bytes, and why they are as they are.

use serde::Serialize;

use crate::design::Design;

#[derive(Debug, Serialize)]
pub struct Fuses {
    heading: String,
    summary: String,
    bytes: Vec<Fuse>,
}

#[derive(Debug, Serialize)]
struct Fuse {
    name: &'static str,
    memory: &'static str,
    value: u8,
    reason: String,
}

pub fn fuses(design: &Design) -> Fuses {
    let plan = &design.plan;
    let summary = if plan.needs_fuses() {
        "this project needs other ones than a new chip has"
    } else {
        "a new chip's are right as they are"
    };
    Fuses {
        heading: format!("The fuses; {summary}."),
        summary: summary.into(),
        bytes: plan
            .fuses
            .iter()
            .map(|fuse| Fuse {
                name: if plan.fuses.len() == 1 && fuse.name == "fuse" {
                    "byte"
                } else {
                    fuse.name
                },
                memory: fuse.memory,
                value: fuse.value,
                reason: fuse.reason.clone(),
            })
            .collect(),
    }
}
