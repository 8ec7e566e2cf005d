//! A form as its decoder's template says it.

use serde::Serialize;

use super::form::{Argument, Form};

/// What the decoder does, in words and numbers.
#[derive(Debug, Default, Serialize)]
pub struct DecoderText {
    /// `plain8`, `plain16`, `interpolated`, `polynomial` or `kneed`.
    kind: &'static str,
    /// Bits of the level below a knot, and levels between knots.
    shift: u8,
    between: u32,
    /// The polynomial as a person writes it.
    formula: String,
    knee: u8,
    argument_shift: u8,
    /// Products have seven bits of fraction instead of eight.
    pub seven: bool,
    /// Highest power first.
    terms: Vec<Term>,
    line: Vec<Term>,
}

/// A coefficient, and a local label for its branch.
#[derive(Debug, Serialize)]
struct Term {
    number: i32,
    label: usize,
}

impl DecoderText {
    pub fn new(form: &Form) -> Self {
        match form {
            Form::Plain8(_) => Self {
                kind: "plain8",
                ..Self::default()
            },
            Form::Plain16(_) => Self {
                kind: "plain16",
                ..Self::default()
            },
            Form::Interpolated { shift, .. } => Self {
                kind: "interpolated",
                shift: *shift,
                between: 1 << shift,
                ..Self::default()
            },
            Form::Polynomial {
                argument,
                coefficients,
            } => Self {
                kind: "polynomial",
                ..Self::polynomial(*argument, coefficients)
            },
            Form::Kneed {
                argument,
                knee,
                line,
                coefficients,
            } => {
                let above = Self::polynomial(*argument, coefficients);
                Self {
                    kind: "kneed",
                    knee: knee.0,
                    line: terms(line, 3),
                    formula: format!(
                        "Below level {}: {}; from there on: {}",
                        knee.0,
                        formula(line, *argument),
                        above.formula
                    ),
                    ..above
                }
            }
        }
    }

    fn polynomial(argument: Argument, coefficients: &[i32]) -> Self {
        Self {
            argument_shift: argument.shift,
            seven: argument.fraction == 7,
            terms: terms(coefficients, 1),
            formula: formula(coefficients, argument),
            ..Self::default()
        }
    }

    /// Whether it needs a product.
    pub fn multiplies(&self) -> bool {
        self.kind == "interpolated" || self.terms.len() > 1 || self.line.len() > 1
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
