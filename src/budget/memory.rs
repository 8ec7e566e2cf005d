//! Flash, RAM and EEPROM.

use std::cmp::Reverse;

use super::report::saving;
use super::{Flash, Ram, Saving};
use crate::design::Design;
use crate::diagnostic::Diagnostic;
use crate::row::{Judgement, Limit, Quantity, Row, Source};
use crate::units::Bytes;

/// A chip this full leaves little room for changes (common practice, no source).
const CAREFUL: f64 = 0.9;

/// How long a light should last.
const YEARS: u32 = 10;
const HOURS: u32 = YEARS * 8766;
/// Changes by the button, each written when all is quiet again.
const CHANGES_AN_HOUR: u32 = 1;
/// Where something is drawn at random, each power-up saves a new seed.
const POWER_UPS_A_DAY: u32 = 4;
/// A cell with a check byte is written twice in a turn: once as the gap, once with its record.
const WRITES_A_TURN: u32 = 2;

/// So many savings, and so many of the largest parts, are named.
const NAMED: usize = 3;

/// The rows that concern what is stored.
pub(super) fn rows(design: &Design, flash: &Flash, ram: &Ram, savings: &[Saving]) -> Vec<Row> {
    let chip = design.plan.chip;
    let in_flash = Row::judged(
        ("flash", "flash"),
        Quantity::Bytes(flash.total()),
        Limit::AtMost(Quantity::Bytes(chip.flash)),
        CAREFUL,
        Source::Estimated,
        format!(
            "{} counted exactly, {} estimated",
            flash.assembly(),
            flash.main
        ),
    );
    let in_ram = Row::judged(
        ("ram", "RAM, with the stack"),
        Quantity::Bytes(ram.total()),
        Limit::AtMost(Quantity::Bytes(chip.ram.size)),
        CAREFUL,
        Source::Estimated,
        format!(
            "{} of variables, {} of stack at most",
            ram.fixed(),
            ram.stack
        ),
    );
    let full = |row: Row, (code, kind): (&'static str, &str), parts: &[Piece]| match row.verdict {
        Judgement::Over => row.with_fault(|row| {
            let title = &chip.title;
            let (figure, room) = (row.figure, row.limit.figure());
            let message =
                format!("this does not fit: it takes {figure} of {kind}, and {title} has {room}");
            Diagnostic::error(code, design.project.chip.span, message)
                .label(largest(parts))
                .maybe_hint(most_saving(savings))
        }),
        _ => row,
    };
    let mut rows = vec![
        full(in_flash, ("B001", "flash"), &flash.parts()),
        full(in_ram, ("B002", "RAM"), &ram.parts()),
    ];
    rows.extend(eeprom(design).into_iter().flatten());
    rows
}

/// A part of flash or RAM, by name.
type Piece = (&'static str, Bytes);

/// The largest parts, in words.
fn largest(parts: &[Piece]) -> String {
    let mut parts = parts.to_vec();
    parts.sort_by_key(|(_, bytes)| Reverse(*bytes));
    let named = parts.iter().take(NAMED);
    let named: Vec<String> = named
        .map(|(name, bytes)| format!("{name} {bytes}"))
        .collect();
    format!("largest: {}", named.join(", "))
}

fn most_saving(savings: &[Saving]) -> Option<String> {
    let most: Vec<String> = savings.iter().take(NAMED).map(saving).collect();
    (!most.is_empty()).then(|| most.join("; "))
}

/// The rows that concern the EEPROM, if it is used.
pub(super) fn eeprom(design: &Design) -> Option<[Row; 2]> {
    let memory = design.firmware.memory.as_ref()?;
    let eeprom = &design.plan.chip.eeprom;
    let firmware = &design.firmware;
    let goes = design
        .project
        .contacts
        .iter()
        .any(|contact| contact.taps().is_some());
    let by_hand = firmware.button.is_some() || goes;
    let changes = if memory.choices && by_hand {
        HOURS * CHANGES_AN_HOUR
    } else {
        0
    };
    let power_ups = if design.firmware.features.draws {
        HOURS / 24 * POWER_UPS_A_DAY
    } else {
        0
    };
    let writes = (WRITES_A_TURN * (changes + power_ups)).div_ceil(memory.records());
    let record = Bytes(memory.state.0 + 1);
    Some([
        Row::judged(
            ("eeprom", "EEPROM"),
            Quantity::Bytes(memory.end),
            // However large it is, records take turns in all of it.
            Limit::None,
            1.0,
            Source::Computed,
            format!(
                "{} records of {record}, in turn, in the {} that there are",
                memory.records(),
                eeprom.size
            ),
        ),
        Row::judged(
            ("eeprom-wear", "EEPROM wear in ten years"),
            Quantity::Writes(writes),
            Limit::AtMost(Quantity::Writes(eeprom.endurance)),
            0.5,
            Source::Computed,
            wear_note(changes > 0, power_ups > 0),
        )
        .with_fault(|row| {
            let message = format!(
                "the EEPROM would see {} a cell in ten years, {} it stands",
                row.figure,
                row.against()
            );
            Diagnostic::error("B006", design.project.chip.span, message)
                .label(row.note.clone())
                .hint("a longer `memory: {after: …}` saves writes")
        }),
    ])
}

fn wear_note(changes: bool, power_ups: bool) -> String {
    let mut causes = Vec::new();
    if changes {
        causes.push("a change every hour".to_string());
    }
    if power_ups {
        causes.push(format!("{POWER_UPS_A_DAY} power-ups a day"));
    }
    format!("with {}, on the cell written most", causes.join(" and "))
}
