//! The brightness decoder and its table.

use serde::Serialize;

use crate::design::Design;
use crate::light::{Argument, Form, rows};

#[derive(Debug, Serialize)]
pub(super) struct LightText {
    /// `plain8`, `plain16`, `interpolated`, `polynomial` or `kneed`.
    kind: &'static str,
    /// Bits of the level below a knot.
    shift: u8,
    /// Levels between knots.
    between: u32,
    /// The polynomial as a person writes it.
    formula: String,
    knee: u8,
    argument_shift: u8,
    seven: bool,
    /// Highest power first.
    terms: Vec<Term>,
    line: Vec<Term>,
    /// The table's symbol and heading.
    symbol: &'static str,
    heading: String,
    rows: Vec<LevelText>,
}

/// A coefficient, and a local label for its branch.
#[derive(Debug, Serialize)]
struct Term {
    number: i32,
    label: usize,
}

#[derive(Debug, Serialize)]
struct LevelText {
    text: String,
    note: String,
    number: u16,
}

impl LightText {
    pub(super) fn new(design: &Design) -> Self {
        let mut light = Self {
            kind: "",
            shift: 2,
            between: 0,
            formula: String::new(),
            knee: 0,
            argument_shift: 0,
            seven: false,
            terms: Vec::new(),
            line: Vec::new(),
            symbol: "duties",
            heading: String::new(),
            rows: Vec::new(),
        };
        match &design.deck.light.form {
            Form::Plain8(_) => {
                light.kind = "plain8";
                light.heading = "Timer counts by level.".into();
                light.rows = table(design, 1);
            }
            Form::Plain16(_) => {
                light.kind = "plain16";
                light.heading = "On-time by level, in 1/256 of a timer count.".into();
                light.rows = table(design, 1);
            }
            Form::Interpolated { shift, knots } => {
                light.kind = "interpolated";
                light.shift = *shift;
                light.between = 1 << shift;
                light.symbol = "knots";
                light.heading = format!(
                    "On-time at every {}th level, in 1/256 of a timer count.",
                    light.between
                );
                light.rows = knot_rows(design, knots, light.between);
            }
            Form::Polynomial {
                argument,
                coefficients,
            } => {
                light.kind = "polynomial";
                light.polynomial(*argument, coefficients);
            }
            Form::Kneed {
                argument,
                knee,
                line,
                coefficients,
            } => {
                light.kind = "kneed";
                light.knee = knee.0;
                light.line = terms(line, 3);
                light.polynomial(*argument, coefficients);
                let straight = formula(line, *argument);
                light.formula = format!(
                    "Below level {}: {straight}; from there on: {}",
                    knee.0, light.formula
                );
            }
        }
        light
    }

    fn polynomial(&mut self, argument: Argument, coefficients: &[i32]) {
        self.argument_shift = argument.shift;
        self.seven = argument.fraction == 7;
        self.terms = terms(coefficients, 1);
        self.formula = formula(coefficients, argument);
    }

    pub(super) fn multiplies(&self) -> bool {
        self.kind == "interpolated" || self.terms.len() > 1 || self.line.len() > 1
    }

    pub(super) fn has_seven_bits(&self) -> bool {
        self.seven
    }
}

/// Highest power first. Labels are counted from `first`, as local labels can be used again.
fn terms(coefficients: &[i32], first: usize) -> Vec<Term> {
    let term = |(i, number): (usize, &i32)| Term {
        number: *number,
        label: first + i % 2,
    };
    coefficients.iter().rev().enumerate().map(term).collect()
}

fn formula(coefficients: &[i32], argument: Argument) -> String {
    let mut sum = String::new();
    for (power, coefficient) in coefficients.iter().enumerate().rev() {
        let sign = match (sum.is_empty(), *coefficient < 0) {
            (true, false) => "",
            (true, true) => "-",
            (false, false) => " + ",
            (false, true) => " - ",
        };
        let x = match power {
            0 => String::new(),
            1 => " x".into(),
            _ => format!(" x^{power}"),
        };
        sum.push_str(&format!("{sign}{}{x}", coefficient.abs()));
    }
    let whole = 1_u32 << argument.fraction;
    let level = match argument.shift {
        0 => "level".to_string(),
        shift => format!("{} level", 1_u32 << shift),
    };
    format!("on-time = {sum}, x = {level} / {whole}")
}

fn table(design: &Design, step: usize) -> Vec<LevelText> {
    let light = &design.deck.light;
    let whole = design.plan.drive.pwm().whole;
    rows(&design.scale, |level| light.duty(level), whole)
        .into_iter()
        .step_by(step)
        .map(|row| {
            let raw = light.raw(row.level);
            let (directive, number) = match &light.form {
                Form::Plain8(_) => (".byte", raw >> 8),
                _ => (".word", raw),
            };
            LevelText {
                text: format!("{:<16}", format!("{directive}   {number}")),
                number,
                note: format!(
                    "level {}: {} wanted, {} shown, on {}",
                    row.level.0, row.ideal, row.real, row.on
                ),
            }
        })
        .collect()
}

fn knot_rows(design: &Design, knots: &[u16], between: u32) -> Vec<LevelText> {
    let light = &design.deck.light;
    let rows = rows(
        &design.scale,
        |level| light.duty(level),
        design.plan.drive.pwm().whole,
    );
    let knot = |(i, knot): (usize, &u16)| {
        let level = i as u32 * between;
        let note = match rows.get(level as usize) {
            Some(row) => format!("level {level}: {}, on {}", row.real, row.on),
            None => format!("level {level}: beyond the last, to draw the line to"),
        };
        LevelText {
            text: format!("{:<16}", format!(".word   {knot}")),
            note,
            number: *knot,
        }
    };
    knots.iter().enumerate().map(knot).collect()
}
