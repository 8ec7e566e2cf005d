//! What starts when: the start records, scene by scene.

use serde::Serialize;

use super::tables::padded;
use crate::design::Design;
use crate::firmware::computes_parts;
use crate::score::{Run, Scene, StartField};
use crate::units::Time;

#[derive(Debug, Serialize)]
pub(super) struct SceneText {
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

/// The start records.
#[derive(Debug, Serialize)]
pub(super) struct Start {
    arguments: Vec<&'static str>,
    /// Directives that make up a record.
    fields: Vec<String>,
    /// Bytes of a record, and from one scene to the next in the index.
    record: usize,
    stride: usize,
    /// Some channels start further on.
    runs_ahead: bool,
    /// The part of a line that they are ahead is computed, rather than run tick by tick.
    computed: bool,
    ahead_offset: usize,
    step_offset: usize,
    /// Bytes between the address and what comes after the head starts.
    skip_to_initial: usize,
}

impl Start {
    pub(super) fn new(design: &Design) -> Self {
        let image = &design.deck.image;
        let format = &image.format;
        let fields = || format.start_record();
        let directive = |(field, bytes)| match bytes {
            1 => format!(".byte   \\{}", name(field)),
            _ => format!(".word   \\{}", name(field)),
        };
        // The player reads the count of channels first, once a run.
        let each = || fields().filter(|(field, _)| *field != StartField::Channels);
        let offset = |wanted: StartField| -> usize {
            let before = each().take_while(|(field, _)| *field != wanted);
            before.map(|(_, bytes)| bytes).sum()
        };
        let heads = usize::from(format.start.ahead) + usize::from(format.start.step);
        let index = format.address();
        let all: usize = each().map(|(_, bytes)| bytes).sum();
        let record = format.start_record_size();
        Self {
            arguments: fields().map(|(field, _)| name(field)).collect(),
            fields: fields().map(directive).collect(),
            record,
            stride: if format.start.uniform { record } else { index },
            runs_ahead: heads > 0,
            computed: computes_parts(&design.plan, image),
            ahead_offset: offset(StartField::Ahead),
            step_offset: offset(StartField::Step),
            skip_to_initial: if all > index + heads { heads } else { 0 },
        }
    }
}

/// As an argument of the macro that writes a record.
fn name(field: StartField) -> &'static str {
    match field {
        StartField::Channels => "channels",
        StartField::Program => "program",
        StartField::Ahead => "ahead",
        StartField::Step => "step",
        StartField::Level => "level",
        StartField::Stream => "stream",
        StartField::Remainder => "remainder",
    }
}

pub(super) fn scenes(design: &Design) -> Vec<SceneText> {
    let image = &design.deck.image;
    let mut at = 0;
    let scene = |(scene, runs): (&Scene, &Vec<Run>)| {
        let text = scene_text(scene, at, runs, design);
        at += runs.len() * image.format.start_record_size();
        text
    };
    let scenes = image.score.scenes.iter();
    scenes.zip(&image.starts).map(scene).collect()
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
    let program = run.program;
    let fields = || image.format.start_record();
    let operand = |field| match run.field(field) {
        Some(value) => value.to_string(),
        None => image.score.programs[program].name.label(),
    };
    let bytes = |(field, bytes)| {
        let value = run.field(field).unwrap_or(image.programs[program].0.into());
        value.to_le_bytes().into_iter().take(bytes)
    };
    let operands: Vec<String> = fields().map(|(field, _)| operand(field)).collect();
    RunText {
        text: padded(&format!("{:<8}{}", "start", operands.join(", "))),
        note: run_note(run, first, design),
        bytes: fields().flat_map(bytes).collect(),
    }
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
    let side = match run.step.0.signum() {
        1 => "ahead of",
        -1 => "behind",
        _ => return notes.join("; "),
    };
    notes.push(format!(
        "each channel {} {side} the one before it",
        time(run.step.0.unsigned_abs())
    ));
    notes.join("; ")
}
