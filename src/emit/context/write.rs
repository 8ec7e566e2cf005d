//! Registers and what is written into them: timers above all.

use serde::Serialize;

use crate::chip::Reach;
use crate::plan::{Assign, Plan, TimerPlan};

/// A register and what is written into it.
#[derive(Debug, Serialize)]
pub struct Write {
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
}

#[derive(Debug, Serialize)]
pub struct Timer {
    number: u8,
    setup: Vec<Write>,
}

#[derive(Debug, Serialize)]
pub struct StartTimers {
    reset: Option<Write>,
    presets: Vec<Write>,
    go: Vec<Write>,
}

impl Write {
    pub fn new(assign: &Assign) -> Self {
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
        }
    }
}

pub fn timers(plan: &Plan) -> Vec<Timer> {
    let timer = |timer: &TimerPlan| Timer {
        number: timer.number,
        setup: timer
            .setup
            .iter()
            .filter(|assign| !is_started(plan, assign))
            .map(Write::new)
            .collect(),
    };
    plan.timers.iter().map(timer).collect()
}

/// A register that `start_timers` writes anyway, with nothing in it before.
fn is_started(plan: &Plan, assign: &Assign) -> bool {
    assign.value == 0
        && plan
            .start
            .go
            .iter()
            .any(|go| go.register == assign.register)
}

pub fn start_timers(plan: &Plan) -> StartTimers {
    StartTimers {
        reset: plan.start.reset.as_ref().map(Write::new),
        presets: plan
            .timers
            .iter()
            .filter(|timer| timer.preset.value > 0)
            .map(|timer| Write::new(&timer.preset))
            .collect(),
        go: plan.start.go.iter().map(Write::new).collect(),
    }
}

/// The instruction that stores into a register.
pub fn store(reach: Reach) -> &'static str {
    match reach {
        Reach::Bit | Reach::Out => "out",
        Reach::Memory => "sts",
    }
}
