//! Registers and what is written into them: timers above all.

use serde::Serialize;

use crate::chip::Reach;
use crate::plan::{Assign, Plan, TimerPlan};

/// A register and what is written into it.
#[derive(Debug, Serialize)]
pub(super) struct Write {
    register: &'static str,
    value: u8,
    /// The names of the bits that are set; none where it is a plain number.
    bits: Vec<&'static str>,
    /// The value as C has it.
    text: String,
    store: &'static str,
    /// How inline assembly names the register.
    constraint: &'static str,
    address: &'static str,
    note: Option<&'static str>,
}

#[derive(Debug, Serialize)]
pub(super) struct Timer {
    number: u8,
    setup: Vec<Write>,
}

#[derive(Debug, Serialize)]
pub(super) struct StartTimers {
    reset: Option<Write>,
    presets: Vec<Write>,
    go: Vec<Write>,
}

impl Write {
    pub(super) fn new(assign: &Assign) -> Self {
        let bits: Vec<String> = assign
            .bits
            .iter()
            .map(|bit| format!("1 << {bit}"))
            .collect();
        let text = if bits.is_empty() {
            assign.value.to_string()
        } else {
            bits.join(" | ")
        };
        let (constraint, address) = match store(assign.reach) {
            "out" => ("I", "_SFR_IO_ADDR"),
            _ => ("i", "_SFR_MEM_ADDR"),
        };
        Self {
            register: assign.register,
            value: assign.value,
            bits: assign.bits.clone(),
            text,
            store: store(assign.reach),
            constraint,
            address,
            note: None,
        }
    }
}

pub(super) fn timers(plan: &Plan) -> Vec<Timer> {
    let timer = |timer: &TimerPlan| Timer {
        number: timer.number,
        setup: timer
            .setup
            .iter()
            .filter(|assign| !plan.is_started(assign))
            .map(noted)
            .collect(),
    };
    plan.timers.iter().map(timer).collect()
}

/// With a word on plain numbers, which bits' names do not explain.
fn noted(assign: &Assign) -> Write {
    let note = match (assign.bits.is_empty(), assign.value) {
        (true, 0) => Some("what all high bytes are written through, whatever was left in it"),
        (true, _) => Some("the highest count"),
        (false, _) => None,
    };
    Write {
        note,
        ..Write::new(assign)
    }
}

/// What is written at each tick.
pub(super) fn refreshed(plan: &Plan) -> Vec<Write> {
    plan.refreshed().map(Write::new).collect()
}

pub(super) fn start_timers(plan: &Plan) -> StartTimers {
    StartTimers {
        reset: plan.start.reset.as_ref().map(Write::new),
        presets: plan.presets().map(Write::new).collect(),
        go: plan.start.go.iter().map(Write::new).collect(),
    }
}

/// The instruction that stores into a register.
pub(super) fn store(reach: Reach) -> &'static str {
    match reach {
        Reach::Bit | Reach::Out => "out",
        Reach::Memory => "sts",
    }
}
