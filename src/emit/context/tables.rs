//! The programs, what starts them, and the layout of tracks.

use serde::Serialize;

use super::starts::{SceneText, Start, scenes};
use crate::design::Design;
use crate::drive::Way;
use crate::player::{Generator, STREAM};
use crate::score::{Code, EqualSteps, Format, Image, Op, SLOW_UNIT};
use crate::units::Share;

#[derive(Debug, Serialize)]
pub(super) struct Tables {
    /// The highest level, and what it stands for.
    top: u8,
    /// From here on a plain channel is on.
    half: u8,
    ceiling: String,
    /// In ascending order.
    codes: Vec<CodeText>,
    /// Too many for their branches to reach from where operations are read.
    many_codes: bool,
    length_operands: &'static str,
    random_operands: &'static str,
    address_byte: &'static str,
    /// Subroutines of the player.
    draw: &'static str,
    drawn_wide: bool,
    wide_next: bool,
    branches_to_line: bool,
    /// Some operations take no time.
    no_time: bool,
    /// Bytes of all programs, and of all start records.
    programs_size: usize,
    starts_size: usize,
    rows: Vec<OperationText>,
    scenes: Vec<SceneText>,
    shows: Vec<ShowText>,
    steady: Option<EqualSteps>,
    start: Start,
    track: TrackText,
    trims: Vec<TrimText>,
    stream_mix: u8,
    slow_unit: u16,
    /// What the generator adds in each step.
    generator_step: u16,
}

#[derive(Debug, Serialize)]
struct CodeText {
    name: &'static str,
    value: u8,
}

/// An operation: as an assembler has it, and as bytes.
#[derive(Debug, Serialize)]
struct OperationText {
    label: Option<String>,
    text: String,
    note: String,
    /// Where it is, from the first program's first byte.
    at: usize,
    /// The name of its first byte, if that is a code.
    code: Option<&'static str>,
    bytes: Vec<u8>,
}

#[derive(Debug, Serialize)]
struct ShowText {
    name: String,
    first: u8,
    count: u8,
}

#[derive(Debug, Serialize)]
struct TrackText {
    fields: Vec<FieldText>,
    size: u32,
    /// Slots for rounds, by number.
    slots: Vec<u8>,
}

#[derive(Debug, Serialize)]
struct FieldText {
    name: &'static str,
    offset: u32,
    pad: String,
    note: &'static str,
}

#[derive(Debug, Serialize)]
struct TrimText {
    name: String,
    factor: u8,
    share: String,
    /// The player itself sets its pin, and works out no light.
    latched: bool,
}

/// Column of comments in generated assembly.
const COMMENT: usize = 40;

/// Codes, the restart among them, that can be told apart one after the other, within reach of a branch.
const FEW_CODES: usize = 4;

impl Tables {
    pub(super) fn new(design: &Design) -> Self {
        let image = &design.deck.image;
        let format = &image.format;
        let drawn_wide = format.long_ticks && (format.random || format.keep);
        let ceiling = design.project.brightness.ceiling.value;
        Self {
            top: image.score.top.0,
            half: design.deck.half().0,
            ceiling: format!("{ceiling} of the scale"),
            many_codes: codes(format).len() > FEW_CODES,
            codes: codes(format),
            length_operands: if format.long_ticks {
                "(\\ticks) >> 8, (\\ticks) & 0xFF"
            } else {
                "\\ticks"
            },
            random_operands: if format.long_ticks {
                "(\\ticks) >> 8, (\\ticks) & 0xFF, (\\more_ticks) >> 8, (\\more_ticks) & 0xFF"
            } else {
                "\\ticks, \\more_ticks"
            },
            address_byte: if format.long_addresses {
                ".word  "
            } else {
                ".byte  "
            },
            draw: if format.streams { "draw_own" } else { "draw" },
            drawn_wide,
            wide_next: drawn_wide || (format.wait && format.long_ticks),
            branches_to_line: format.jump || format.random || format.keep || format.wait,
            no_time: no_time(image),
            programs_size: image.bytes.len(),
            starts_size: image.starts.iter().flatten().count() * format.start_record_size(),
            rows: rows(image),
            scenes: scenes(design),
            shows: image
                .score
                .shows
                .iter()
                .map(|show| ShowText {
                    name: show.kind.text().into(),
                    first: show.first,
                    count: show.count,
                })
                .collect(),
            steady: image.score.steady,
            start: Start::new(design),
            track: track(design),
            trims: trims(design),
            stream_mix: STREAM,
            slow_unit: SLOW_UNIT,
            generator_step: Generator::ADDED,
        }
    }

    pub(super) fn has_trims(&self) -> bool {
        !self.trims.is_empty()
    }
}

/// Jumps without a length, and channels that wait for such a jump to be drawn.
fn no_time(image: &Image) -> bool {
    let lines = image
        .score
        .programs
        .iter()
        .flat_map(|program| &program.lines);
    lines.into_iter().any(|line| match line.op {
        Op::Jump { length, .. } => length.ticks.0 == 0,
        Op::Random { ticks, .. } | Op::Keep { ticks } => ticks.low.0 == 0,
        _ => false,
    })
}

fn codes(format: &Format) -> Vec<CodeText> {
    let all = [
        ("SLOW_LINE", Code::Slow, format.slow),
        ("AGAIN", Code::Again, format.home),
        ("JUMP", Code::Jump, format.jump),
        ("RANDOM_JUMP", Code::RandomJump, format.random_jump),
        ("RANDOM", Code::Random, format.random),
        ("KEEP", Code::Keep, format.keep),
        ("WAIT", Code::Wait, format.wait),
        ("REPEAT", Code::Repeat, format.slots > 0),
        ("BRANCH", Code::Branch, format.branch),
        ("GOTO", Code::Goto, format.goto),
    ];
    all.into_iter()
        .filter(|(.., used)| *used)
        .map(|(name, code, _)| CodeText {
            name,
            value: code.byte(),
        })
        .collect()
}

fn rows(image: &Image) -> Vec<OperationText> {
    let codes = codes(&image.format);
    let programs = &image.score.programs;
    let lines = programs.iter().flat_map(|program| &program.lines);
    let mut at = 0;
    let row = |(row, line): (&crate::score::Listed, &crate::score::Line)| {
        let text = format!("{:<10}{}", row.mnemonic, row.operands.join(", "));
        let start = at;
        at += image.format.size(&line.op).0 as usize;
        let bytes = image.bytes[start..at].to_vec();
        OperationText {
            label: row.label.clone(),
            text: padded(&text),
            note: row.note.clone(),
            at: start,
            code: codes
                .iter()
                .find(|code| code.value == bytes[0])
                .map(|code| code.name),
            bytes,
        }
    };
    image.rows.iter().zip(lines).map(row).collect()
}

/// At least a space before the comment.
pub(super) fn padded(text: &str) -> String {
    format!("{text:<width$} ", width = COMMENT - 9)
}

fn track(design: &Design) -> TrackText {
    let track = &design.firmware.track;
    let field = |field: &crate::firmware::Field| FieldText {
        name: field.name,
        offset: field.offset,
        pad: " ".repeat(COMMENT - 24 - field.name.len().min(8)),
        note: field.note,
    };
    TrackText {
        fields: track.fields.iter().map(field).collect(),
        size: track.size.0,
        slots: (0..design.deck.image.format.slots).collect(),
    }
}

/// Nothing where no channel has one.
fn trims(design: &Design) -> Vec<TrimText> {
    let trims = &design.deck.trims;
    if trims.iter().all(|trim| trim.0.is_none()) {
        return Vec::new();
    }
    trims
        .iter()
        .zip(&design.project.channels)
        .zip(design.plan.drive.channels())
        .map(|((trim, channel), plan)| TrimText {
            name: channel.name.value.clone(),
            factor: trim.0.unwrap_or(0),
            share: Share(channel.trim.value.0).to_string(),
            latched: plan.way == Way::Latch,
        })
        .collect()
}
