//! Registers and what is written into them: timers above all.

use serde::Serialize;

use crate::drive::Drive;
use crate::drive::port::HALF;
use crate::plan::Plan;
use crate::target::{Guarded, Write};

/// A register and what is written into it.
#[derive(Debug, Serialize)]
pub(super) struct WriteText {
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

/// A write that another one allows.
#[derive(Debug, Serialize)]
pub(super) struct GuardedText {
    register: &'static str,
    unlock: WriteText,
    write: WriteText,
}

impl GuardedText {
    pub(super) fn new(guarded: &Guarded) -> Self {
        Self {
            register: guarded.write.register,
            unlock: WriteText::new(&guarded.unlock),
            write: WriteText::new(&guarded.write),
        }
    }
}

#[derive(Debug, Serialize)]
pub(super) struct Timer {
    number: u8,
    setup: Vec<WriteText>,
}

#[derive(Debug, Serialize)]
pub(super) struct StartTimers {
    reset: Option<WriteText>,
    presets: Vec<WriteText>,
    go: Vec<WriteText>,
}

impl WriteText {
    pub(super) fn new(write: &Write) -> Self {
        let bits: Vec<String> = write.bits.iter().map(|bit| format!("1 << {bit}")).collect();
        let text = if bits.is_empty() {
            write.value.to_string()
        } else {
            bits.join(" | ")
        };
        let (constraint, address) = match write.reach.store() {
            "out" => ("I", "_SFR_IO_ADDR"),
            _ => ("i", "_SFR_MEM_ADDR"),
        };
        Self {
            register: write.register,
            value: write.value,
            bits: write.bits.clone(),
            text,
            store: write.reach.store(),
            constraint,
            address,
            note: None,
        }
    }
}

pub(super) fn timers(drive: &Drive) -> Vec<Timer> {
    let timers = drive.set_up().into_iter();
    timers
        .map(|(timer, setup)| Timer {
            number: timer.number,
            setup: setup.into_iter().map(noted).collect(),
        })
        .collect()
}

/// With a word on plain numbers, which bits' names do not explain.
fn noted(write: &Write) -> WriteText {
    let note = match (write.bits.is_empty(), write.value) {
        (true, HALF) => Some("as long high as low"),
        (true, 0) => Some("what all high bytes are written through, whatever was left in it"),
        (true, _) => Some("the highest count"),
        (false, _) => None,
    };
    WriteText {
        note,
        ..WriteText::new(write)
    }
}

/// What is written at each tick.
pub(super) fn refreshed(plan: &Plan) -> Vec<WriteText> {
    plan.refreshed().map(WriteText::new).collect()
}

pub(super) fn start_timers(drive: &Drive) -> StartTimers {
    let start = drive.start();
    StartTimers {
        reset: start.reset.as_ref().map(WriteText::new),
        presets: drive.presets().into_iter().map(WriteText::new).collect(),
        go: start.go.iter().map(WriteText::new).collect(),
    }
}
