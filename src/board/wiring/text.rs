//! The wiring card as text.

use std::fmt::Write;

use super::{Drawing, Item, Leg, Wiring};

macro_rules! line {
    ($text:expr, $($arguments:tt)*) => {
        writeln!($text, $($arguments)*).expect("a String can be written to")
    };
}

/// Columns of a page.
const PAGE: usize = 96;
/// Room for a leg's use, left of the package.
const WIDTH: usize = 40;

pub(super) fn text(wiring: &Wiring) -> String {
    let mut text = String::new();
    line!(text, "{}, {}, from above\n", wiring.chip, wiring.package);
    if wiring.rows == 2 {
        drawing(&wiring.legs, &mut text);
    } else {
        list(&wiring.legs, &mut text);
    }
    parts(&wiring.parts, &mut text);
    strings(&wiring.strings, &mut text);
    fuses(wiring, &mut text);
    line!(text, "\nMind");
    for caution in &wiring.cautions {
        paragraph("  - ", caution, &mut text);
    }
    text
}

fn parts(parts: &[Item], text: &mut String) {
    line!(text, "\nParts");
    let widest = |words: fn(&Item) -> usize| parts.iter().map(words).max().unwrap_or(0);
    let (marks, what) = (
        widest(|item| item.marked().len()),
        widest(|item| item.what.chars().count()),
    );
    for item in parts {
        let Item { count, place, .. } = item;
        let (marked, words) = (item.marked(), &item.what);
        line!(
            text,
            "  {count:>3}  {marked:<marks$}  {words:<what$}  {place}"
        );
    }
}

fn strings(strings: &[Drawing], text: &mut String) {
    if strings.is_empty() {
        return;
    }
    line!(text, "\nStrings");
    for drawing in strings {
        line!(text, "  {}", drawing.of.join(", "));
        for line in &drawing.lines {
            line!(text, "    {line}");
        }
    }
}

/// A paragraph behind its mark, in lines that fit a page.
fn paragraph(mark: &str, words: &str, text: &mut String) {
    let options = textwrap::Options::new(PAGE)
        .initial_indent(mark)
        .subsequent_indent("    ");
    line!(text, "{}", textwrap::fill(words, options));
}

/// Legs down the left, and up the right.
fn drawing(legs: &[Leg], text: &mut String) {
    let half = legs.len() / 2;
    let (left, right) = legs.split_at(half);
    line!(text, "{:WIDTH$}      +----U----+", "");
    for (left, right) in left.iter().zip(right.iter().rev()) {
        let row = format!(
            "{:>WIDTH$} {:>4} |{:<3}   {:>3}| {:<4} {}",
            left.purpose, left.name, left.number, right.number, right.name, right.purpose
        );
        line!(text, "{}", row.trim_end());
    }
    line!(text, "{:WIDTH$}      +---------+", "");
}

fn list(legs: &[Leg], text: &mut String) {
    for leg in legs {
        let row = format!("  {:>3} {:<6} {}", leg.number, leg.name, leg.purpose);
        line!(text, "{}", row.trim_end());
    }
}

fn fuses(wiring: &Wiring, text: &mut String) {
    line!(text, "\nFuses");
    for card in &wiring.fuses {
        let delivered = if card.value == card.factory {
            String::new()
        } else {
            format!(", delivered 0x{:02X}", card.factory)
        };
        line!(
            text,
            "  {} 0x{:02X}{delivered}: {}",
            card.memory,
            card.value,
            card.reason
        );
        for bit in &card.bits {
            let state = if bit.programmed { "0 on " } else { "1 off" };
            let changed = if bit.changed { " (changed)" } else { "" };
            let locks = if bit.locks_out {
                " (LOCKS OUT THE PROGRAMMER)"
            } else {
                ""
            };
            line!(
                text,
                "    {} {:<10} {state} {}{changed}{locks}",
                bit.number,
                bit.name,
                bit.does
            );
        }
    }
    for warning in &wiring.fuse_warnings {
        paragraph("  ! ", &format!("Before you write fuses: {warning}."), text);
    }
    match &wiring.fuse_command {
        Some(command) => line!(text, "\n  {command}"),
        None => line!(text, "  They are right as delivered."),
    }
}
