//! The brightness decoder and its table.

use serde::Serialize;

use crate::design::Design;
use crate::light::{DecoderText, Form, rows};

#[derive(Debug, Serialize)]
pub(super) struct LightText {
    #[serde(flatten)]
    decoder: DecoderText,
    /// The table's symbol and heading.
    symbol: &'static str,
    heading: String,
    rows: Vec<LevelText>,
}

#[derive(Debug, Serialize)]
struct LevelText {
    text: String,
    note: String,
    number: u16,
}

impl LightText {
    pub(super) fn new(design: &Design) -> Self {
        let form = &design.deck.light.form;
        let (symbol, heading, rows) = match form {
            Form::Plain8(_) => ("duties", "Timer counts by level.".into(), table(design, 1)),
            Form::Plain16(_) => (
                "duties",
                "On-time by level, in 1/256 of a timer count.".into(),
                table(design, 1),
            ),
            Form::Interpolated { shift, knots } => {
                let between = 1 << shift;
                let heading =
                    format!("On-time at every {between}th level, in 1/256 of a timer count.");
                ("knots", heading, knot_rows(design, knots, between))
            }
            Form::Polynomial { .. } | Form::Kneed { .. } => ("duties", String::new(), Vec::new()),
        };
        Self {
            decoder: DecoderText::new(form),
            symbol,
            heading,
            rows,
        }
    }

    pub(super) fn multiplies(&self) -> bool {
        self.decoder.multiplies()
    }

    pub(super) fn has_seven_bits(&self) -> bool {
        self.decoder.seven
    }
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
