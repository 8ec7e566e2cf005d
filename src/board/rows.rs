//! The board's verdicts, as rows that the budget takes.

use serde::Serialize;

use super::flicker::Risk;
use super::{Board, PinReport, PumpReport, SupplyReport};
use crate::design::Design;
use crate::units::{Amps, Seconds};

/// A figure, its limit, and what follows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Row {
    /// Such as `supply, peak`.
    pub name: String,
    pub figure: String,
    pub limit: Option<String>,
    pub judgement: Judgement,
    /// Where the figure comes from.
    pub source: &'static str,
    /// What it means, or what would pass.
    pub note: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Judgement {
    Fine,
    Careful,
    Fails,
}

const MODEL: &str = "computed on the model";
const VALUES: &str = "computed from the parts' values";
const ESTIMATE: &str = "model, with the chip's own current estimated";

impl Row {
    fn new(name: impl Into<String>, figure: impl ToString, source: &'static str) -> Self {
        Self {
            name: name.into(),
            figure: figure.to_string(),
            limit: None,
            judgement: Judgement::Fine,
            source,
            note: String::new(),
        }
    }

    fn limit(self, limit: impl ToString) -> Self {
        Self {
            limit: Some(limit.to_string()),
            ..self
        }
    }

    fn note(self, note: impl Into<String>) -> Self {
        Self {
            note: note.into(),
            ..self
        }
    }

    fn judged(self, judgement: Judgement) -> Self {
        Self { judgement, ..self }
    }

    fn fails_if(self, fails: bool) -> Self {
        if fails {
            self.judged(Judgement::Fails)
        } else {
            self
        }
    }

    fn careful_if(self, careful: bool) -> Self {
        if careful && self.judgement == Judgement::Fine {
            self.judged(Judgement::Careful)
        } else {
            self
        }
    }
}

/// All rows, what can hurt people first.
pub(super) fn rows(board: &Board, design: &Design) -> Vec<Row> {
    let mut rows = vec![flicker(board, design), flashes(board)];
    rows.extend(at_changes(board));
    rows.extend(board.pins.iter().flat_map(|pins| self::pins(pins, design)));
    rows.extend(board.pump.iter().flat_map(|pump| self::pump(pump, design)));
    rows.extend(board.supply.iter().flat_map(supply));
    rows.extend(battery(board));
    rows.push(clock(board));
    rows
}

fn flicker(board: &Board, design: &Design) -> Row {
    let flicker = &board.flicker;
    let row = Row::new("flicker", Risk::text(flicker.risk), MODEL)
        .limit("low risk (IEEE Std 1789-2015)")
        .fails_if(flicker.risk == Risk::High);
    let worst = flicker.worst.map(|worst| {
        format!(
            "worst: `{}` at level {}, {} of the light at {}",
            design.project.channels[worst.channel].name.value,
            worst.level.0,
            worst.component.modulation,
            worst.component.frequency
        )
    });
    let ripple = flicker
        .ripple
        .filter(|ripple| ripple.risk() == flicker.risk && flicker.risk > Risk::NoEffect)
        .map(|ripple| {
            let (modulation, frequency) = (ripple.modulation, ripple.frequency);
            format!("pump ripple moves the light by {modulation} at {frequency}: a larger reservoir, or a faster pump clock")
        });
    let remedy = flicker
        .remedy
        .map(|slowest| format!("`pwm: {{slowest: {slowest}}}` brings all levels to low risk"));
    let notes: Vec<String> = [worst, ripple, remedy].into_iter().flatten().collect();
    row.note(notes.join("; "))
}

impl Risk {
    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Self::NoEffect => "no observable effect",
            Self::Low => "low risk",
            Self::High => "beyond the limits",
        }
    }
}

fn flashes(board: &Board) -> Row {
    let worst = board
        .scenes
        .iter()
        .max_by_key(|scene| (scene.flashes.failing > 0, scene.flashes.worst.flashes))
        .expect("a project has a scene");
    let flashes = &worst.flashes;
    let row = Row::new(
        "flashes",
        format!("{} in a second", flashes.worst.flashes),
        MODEL,
    )
    .limit("3 (WCAG 2, general flash)")
    .fails_if(flashes.failing > 0);
    if flashes.worst.flashes == 0 {
        return row.note("no pattern flashes");
    }
    let mut note = format!("`{}` at {}", worst.name, flashes.worst.at);
    if worst.random {
        note += &format!(
            ", in {} of {} minutes played at random (at most {} of all, with 95 % confidence)",
            flashes.failing, flashes.takes, flashes.at_most
        );
    }
    if let Some(remedy) = flashes.remedy {
        note += &format!(
            "; passes {:.2} times as slow, or with {:.1} % of the light",
            (remedy.slower * 100.0).ceil() / 100.0,
            remedy.dimmer * 100.0
        );
    }
    row.note(note)
}

fn at_changes(board: &Board) -> Option<Row> {
    let changes = board.changes.as_ref()?;
    let figure = format!("{} in a second", changes.worst.flashes);
    let note = format!(
        "from `{}`, left at {}, to `{}`; {} of {} changes tried",
        changes.from, changes.left_at, changes.to, changes.failing, changes.tried
    );
    let remedy = "; a longer `change_fade` keeps them apart";
    let failing = changes.failing > 0;
    let row = Row::new("flashes at changes", figure, MODEL)
        .limit("3 (WCAG 2, general flash)")
        .fails_if(failing);
    Some(row.note(if failing { note + remedy } else { note }))
}

fn pins(pins: &PinReport, design: &Design) -> Vec<Row> {
    let limits = &design.plan.chip.electrical;
    let busiest = pins
        .channels
        .iter()
        .zip(&design.project.channels)
        .max_by(|a, b| a.0.0.total_cmp(&b.0.0));
    let mut rows = Vec::new();
    if let Some((current, channel)) = busiest {
        rows.push(
            Row::new("busiest pin", current, VALUES)
                .limit(limits.pin)
                .note(format!("`{}`, while lit", channel.name.value))
                .fails_if(current.0 > limits.pin.0)
                .careful_if(current.0 > limits.pin_tested.0),
        );
    }
    let all = Amps(pins.together.0 + pins.chip.0);
    let tested = limits.total_tested;
    rows.push(
        Row::new("package", all, ESTIMATE)
            .limit(limits.package)
            .note(format!(
                "all pins at one instant; output levels hold up to {tested}"
            ))
            .fails_if(all.0 > limits.package.0)
            .careful_if(pins.together.0 > tested.0),
    );
    rows
}

fn pump(pump: &PumpReport, design: &Design) -> Vec<Row> {
    let limits = &design.plan.chip.electrical;
    let [slow, fast] = pump.over_clock;
    let inexact = !pump.doubts.is_empty();
    let output = Row::new("charge pump", pump.loaded, VALUES)
        .note(format!(
            "with {}; {} open; {slow} to {fast} over the clock's range{}",
            pump.load,
            pump.open,
            if inexact {
                "; outside what the formula is good for"
            } else {
                ""
            }
        ))
        .careful_if(inexact);
    let drive = Row::new("pump's busier pin", pump.drive.mean, VALUES)
        .limit(limits.pin)
        .note(format!(
            "{} when a half cycle begins; up to {} while it starts",
            pump.drive.peak, pump.drive.start
        ))
        .fails_if(pump.drive.mean.0 > limits.pin.0)
        .careful_if(pump.drive.peak.0 > limits.pin.0 || pump.drive.mean.0 > limits.pin_tested.0);
    vec![output, drive]
}

fn supply(supply: &SupplyReport) -> Vec<Row> {
    let mut rows = vec![Row::new("supply, mean", supply.mean, ESTIMATE)];
    let peak = Row::new("supply, peak", supply.peak, ESTIMATE)
        .note("averaged over a period of the PWM, which the capacitors even out");
    rows.push(match supply.limit {
        Some(limit) => peak.limit(limit).fails_if(supply.peak.0 > limit.0),
        None => peak,
    });
    if let Some(regulator) = supply.regulator {
        rows.push(
            Row::new("regulator's heat", regulator.heat, ESTIMATE)
                .limit(regulator.rating)
                .note("at the highest input, in the pattern that draws the most")
                .fails_if(regulator.heat.0 > regulator.rating.0)
                .careful_if(regulator.heat.0 > 0.8 * regulator.rating.0),
        );
    }
    rows
}

fn battery(board: &Board) -> Vec<Row> {
    let mut rows: Vec<Row> = board
        .shows
        .iter()
        .filter_map(|show| {
            let [short, long] = show.life?;
            let kind = show.kind.text();
            Some(Row::new(
                format!("battery, {kind}"),
                lasts(short, long),
                ESTIMATE,
            ))
        })
        .collect();
    if let Some(supply) = &board.supply
        && let Some(life) = supply.standby_life
    {
        let note = format!("with no string lit: {}", supply.standby);
        rows.push(Row::new("battery, dark", life, ESTIMATE).note(note));
    }
    rows
}

/// "12 h", or "12 h to 30 h".
pub(super) fn lasts(short: Seconds, long: Seconds) -> String {
    let (short, long) = (short.to_string(), long.to_string());
    if short == long {
        short
    } else {
        format!("{short} to {long}")
    }
}

fn clock(board: &Board) -> Row {
    let clock = &board.clock;
    let [least, most] = clock.minute;
    Row::new("clock", format!("± {}", clock.accuracy), "datasheet").note(format!(
        "a minute as written takes {least:.1} to {most:.1} s"
    ))
}
