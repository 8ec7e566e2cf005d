//! The programs, what starts them, and the layout of tracks.

use serde::Serialize;

use crate::design::Design;
use crate::player::{Generator, STREAM};
use crate::score::{Code, Format, Image, Op, Run, Scene};
use crate::units::{Share, Time};

#[derive(Debug, Serialize)]
pub struct Tables {
    /// The highest level, and what it stands for.
    top: u8,
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
    rows: Vec<Row>,
    scenes: Vec<SceneText>,
    shows: Vec<ShowText>,
    start: Start,
    track: TrackText,
    trims: Vec<TrimText>,
    stream_mix: u8,
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
struct Row {
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
struct SceneText {
    name: String,
    /// Where its first record is, from the first scene's.
    at: usize,
    runs: Vec<RunText>,
}

/// A start record: as an assembler has it, and as bytes.
#[derive(Debug, Serialize)]
struct RunText {
    text: String,
    note: String,
    bytes: Vec<u8>,
}

#[derive(Debug, Serialize)]
struct ShowText {
    name: String,
    first: u8,
    count: u8,
}

/// The start records.
#[derive(Debug, Serialize)]
struct Start {
    arguments: Vec<&'static str>,
    /// Directives that make up a record.
    fields: Vec<&'static str>,
    /// Bytes of a record, and from one scene to the next in the index.
    record: usize,
    stride: usize,
    /// Some channels start further on.
    runs_ahead: bool,
    ahead_offset: usize,
    step_offset: usize,
    /// Bytes between the address and what comes after the head starts.
    skip_to_initial: usize,
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
}

/// Column of comments in generated assembly.
const COMMENT: usize = 40;

/// Codes, the restart among them, that can be told apart one after the other, within reach of a branch.
const FEW_CODES: usize = 4;

impl Tables {
    pub fn new(design: &Design) -> Self {
        let image = &design.deck.image;
        let format = &image.format;
        let drawn_wide = format.long_ticks && (format.random || format.keep);
        let ceiling = design.project.brightness.ceiling.value;
        Self {
            top: image.score.top.0,
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
            starts_size: image.starts.iter().flatten().count() * start(format).record,
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
            start: start(format),
            track: track(design),
            trims: trims(design),
            stream_mix: STREAM,
            generator_step: Generator::ADDED,
        }
    }

    pub fn has_trims(&self) -> bool {
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
        ("AGAIN", Code::Again, true),
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

fn rows(image: &Image) -> Vec<Row> {
    let codes = codes(&image.format);
    let programs = &image.score.programs;
    let lines = programs.iter().flat_map(|program| &program.lines);
    let mut at = 0;
    let row = |(row, line): (&crate::score::Row, &crate::score::Line)| {
        let text = format!("{:<10}{}", row.mnemonic, row.operands.join(", "));
        let start = at;
        at += image.format.size(&line.op).0 as usize;
        let bytes = image.bytes[start..at].to_vec();
        Row {
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

fn scenes(design: &Design) -> Vec<SceneText> {
    let image = &design.deck.image;
    let mut at = 0;
    let scene = |(scene, runs): (&Scene, &Vec<Run>)| {
        let text = scene_text(scene, at, runs, design);
        at += runs.len() * start(&image.format).record;
        text
    };
    let scenes = image.score.scenes.iter();
    scenes.zip(&image.starts).map(scene).collect()
}

/// At least a space before the comment.
fn padded(text: &str) -> String {
    format!("{text:<width$} ", width = COMMENT - 9)
}

fn scene_text(scene: &Scene, at: usize, runs: &[Run], design: &Design) -> SceneText {
    let mut first = 0;
    let runs = runs
        .iter()
        .map(|run| {
            let text = run_text(run, first, design);
            first += usize::from(run.channels);
            text
        })
        .collect();
    let mut scene = SceneText {
        name: scene.name.clone(),
        at,
        runs,
    };
    if let [run] = scene.runs.as_mut_slice() {
        run.note = if run.note.is_empty() {
            scene.name.clone()
        } else {
            format!("{}: {}", scene.name, run.note)
        };
    }
    scene
}

fn run_text(run: &Run, first: usize, design: &Design) -> RunText {
    let image = &design.deck.image;
    let format = &image.format;
    let start = &format.start;
    let mut operands = Vec::new();
    if !start.uniform {
        operands.push(run.channels.to_string());
    }
    operands.push(image.score.programs[run.program].name.clone());
    if start.ahead > 0 {
        operands.push(run.ahead.0.to_string());
    }
    if start.step > 0 {
        operands.push(run.step.0.to_string());
    }
    if start.initial {
        operands.push(run.initial.0.to_string());
    }
    if format.streams {
        operands.push(run.stream.to_string());
    }
    if start.remainder {
        operands.push((run.remainder as i8).to_string());
    }
    RunText {
        text: padded(&format!("{:<8}{}", "start", operands.join(", "))),
        note: run_note(run, first, design),
        bytes: run_bytes(run, image),
    }
}

/// The record, field by field in the order of [`start`].
fn run_bytes(run: &Run, image: &Image) -> Vec<u8> {
    let format = &image.format;
    let start = &format.start;
    let mut bytes = Vec::new();
    let mut put = |value: u32, size: usize| {
        bytes.extend_from_slice(&value.to_le_bytes()[..size]);
    };
    put(run.channels.into(), usize::from(!start.uniform));
    put(image.programs[run.program].0.into(), format.address());
    put(run.ahead.0, start.ahead.into());
    put(run.step.0, start.step.into());
    put(run.initial.0.into(), start.initial.into());
    put(run.stream.into(), format.streams.into());
    put(u32::from(run.remainder as u8), start.remainder.into());
    bytes
}

/// Which channels, and how they start.
fn run_note(run: &Run, first: usize, design: &Design) -> String {
    let names = |range: std::ops::Range<usize>| {
        let channels = &design.project.channels[range];
        channels
            .iter()
            .map(|channel| channel.name.value.as_str())
            .collect::<Vec<_>>()
            .join(", ")
    };
    let mut notes = Vec::new();
    if !design.deck.image.format.start.uniform {
        notes.push(names(first..first + usize::from(run.channels)));
    }
    let time =
        |ticks: u32| Time((f64::from(ticks) * design.grid.tick_seconds() * 1e9).round() as u64);
    if run.ahead.0 > 0 {
        notes.push(format!("{} into it", time(run.ahead.0)));
    }
    if run.step.0 > 0 {
        notes.push(format!(
            "each channel {} ahead of the one before it",
            time(run.step.0)
        ));
    }
    notes.join("; ")
}

fn start(format: &Format) -> Start {
    let fields = &format.start;
    let mut arguments = Vec::new();
    let mut directives = Vec::new();
    let mut add = |argument, directive, wanted: bool| {
        if wanted {
            arguments.push(argument);
            directives.push(directive);
        }
    };
    let word = |wide: bool, narrow, broad| if wide { broad } else { narrow };
    add("channels", ".byte   \\channels", !fields.uniform);
    add(
        "program",
        word(
            format.long_addresses,
            ".byte   \\program",
            ".word   \\program",
        ),
        true,
    );
    let ahead = word(fields.ahead == 2, ".byte   \\ahead", ".word   \\ahead");
    add("ahead", ahead, fields.ahead > 0);
    let step = word(fields.step == 2, ".byte   \\step", ".word   \\step");
    add("step", step, fields.step > 0);
    add("level", ".byte   \\level", fields.initial);
    add("stream", ".byte   \\stream", format.streams);
    add("remainder", ".byte   \\remainder", fields.remainder);
    let heads = usize::from(fields.ahead) + usize::from(fields.step);
    let after =
        usize::from(fields.initial) + usize::from(format.streams) + usize::from(fields.remainder);
    let record = usize::from(!fields.uniform) + format.address() + heads + after;
    Start {
        arguments,
        fields: directives,
        record,
        stride: if fields.uniform {
            record
        } else {
            format.address()
        },
        runs_ahead: heads > 0,
        ahead_offset: format.address(),
        step_offset: format.address() + usize::from(fields.ahead),
        skip_to_initial: if after > 0 { heads } else { 0 },
    }
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
        .map(|(trim, channel)| TrimText {
            name: channel.name.value.clone(),
            factor: trim.0.unwrap_or(0),
            share: Share(channel.trim.value.0).to_string(),
        })
        .collect()
}
