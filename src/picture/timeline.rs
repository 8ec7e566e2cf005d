//! Timelines as a picture: a band a channel, its light as a hill over time.

use serde::Serialize;

use crate::design::Design;
use crate::preview::{self, Column, Recorder, Strip, Trace, View, Window};
use crate::units::{DeltaLightness, Level, Lightness};

use super::path::{bars, coordinate};
use super::render;
use super::tint::{Slope, slope, steady};

const WIDTH: f64 = 960.0;
const MARGIN: f64 = 28.0;
/// The width of a character of a name, at most.
const LETTER: f64 = 8.0;
/// The heading of the whole, and of a pattern.
const HEAD: f64 = 76.0;
const TITLE: f64 = 34.0;
/// A channel's band, and the room for marks below it.
const BAND: f64 = 36.0;
const MARKS: f64 = 9.0;
const AXIS: f64 = 40.0;
/// Any light at all is at least this high.
const LEAST: f64 = 1.5;
/// The least distance of two marks on the axis.
const GAP: f64 = 64.0;
/// Levels of a steady show: the cell of one, and how many there are in a row.
const CELL: f64 = 74.0;

#[derive(Serialize)]
struct Picture {
    name: String,
    chip: String,
    width: f64,
    height: String,
    left: String,
    patterns: Vec<PatternView>,
    steady: Vec<SteadyView>,
    legend: String,
    legend_at: String,
}

#[derive(Serialize)]
struct PatternView {
    name: String,
    facts: String,
    top: String,
    bottom: String,
    right: String,
    axis: Vec<MarkView>,
    bands: Vec<BandView>,
}

#[derive(Serialize)]
struct MarkView {
    x: String,
    label: String,
}

#[derive(Serialize)]
struct BandView {
    channel: String,
    /// The band's upper and lower edge, and where text stands.
    top: String,
    ground: String,
    text: String,
    marks: String,
    hill: String,
    slope: Slope,
    begins: String,
    dips: Vec<String>,
}

#[derive(Serialize)]
struct SteadyView {
    title: String,
    top: String,
    rows: Vec<SteadyRow>,
}

#[derive(Serialize)]
struct SteadyRow {
    channel: String,
    /// What its lamps are drawn with.
    lit: String,
    y: String,
    lamps: Vec<Lamp>,
}

#[derive(Serialize)]
struct Lamp {
    x: String,
    radius: String,
    glow: String,
    label: String,
}

/// The patterns that `view` asks for, as SVG.
pub fn timelines(design: &Design, view: &View) -> String {
    let names = design.project.channels.iter();
    let longest = names.map(|channel| channel.name.value.len()).max();
    let left = MARGIN + longest.unwrap_or(0) as f64 * LETTER + 16.0;
    let room = (WIDTH - MARGIN - left).floor().max(200.0);
    let top = preview::top(design);
    let recorder = Recorder::new(design, DeltaLightness(top.0 / BAND));

    let mut y = HEAD;
    let mut patterns = Vec::new();
    for (pattern, scene) in view.played(design) {
        let window = Window::new(design, pattern, scene, view, room as usize);
        let strip = recorder.record(scene, window, view.seed);
        patterns.push(pattern_view(design, &strip, left, room, &mut y));
    }
    let mut steady = Vec::new();
    if view.patterns.is_empty() {
        for levels in design.deck.image.score.steady_levels() {
            steady.push(steady_view(design, &levels, left, room, &mut y));
        }
    }
    render(
        "timeline.svg",
        &Picture {
            name: design.project.name.value.clone(),
            chip: design.plan.chip.title.clone(),
            width: WIDTH,
            height: coordinate(y + 34.0),
            left: coordinate(left),
            patterns,
            steady,
            legend: format!(
                "Height: lightness, up to L* {:.1}, the brightest moment of each pixel. Below a band: \
                 a step begins; a blue notch: darker moments are too short to show.",
                top.0
            ),
            legend_at: coordinate(y + 12.0),
        },
    )
}

fn pattern_view(design: &Design, strip: &Strip, left: f64, room: f64, y: &mut f64) -> PatternView {
    let window = &strip.window;
    let width = room / window.columns as f64;
    let top = *y;
    let bands_top = top + TITLE;
    let highest = preview::top(design);
    let bands = strip.traces.iter().enumerate();
    let bands: Vec<BandView> = bands
        .map(|(at, trace)| {
            let top = bands_top + at as f64 * (BAND + MARKS);
            band(trace, slope(design, at), left, width, top, highest)
        })
        .collect();
    let bottom = bands_top + bands.len() as f64 * (BAND + MARKS);
    *y = bottom + AXIS;
    let marks = preview::marks(window.start, window.column, window.columns, GAP / width);
    PatternView {
        name: window.name.clone(),
        facts: preview::facts(strip, design, "pixel"),
        top: coordinate(top + 16.0),
        bottom: coordinate(bottom),
        right: coordinate(left + room),
        axis: marks
            .into_iter()
            .map(|mark| {
                let x = mark.at as f64 * width;
                let fits = x + 3.0 + mark.label.len() as f64 * LETTER <= room + MARGIN;
                MarkView {
                    x: coordinate(left + x),
                    label: if fits { mark.label } else { String::new() },
                }
            })
            .collect(),
        bands,
    }
}

fn band(
    trace: &Trace,
    slope: Slope,
    left: f64,
    width: f64,
    top: f64,
    highest: Lightness,
) -> BandView {
    let ground = top + BAND;
    let hill = |column: &Column| match column.lightness.0 {
        dark if dark <= 0.0 => ground,
        light => ground - (light / highest.0 * BAND).max(LEAST),
    };
    let tops: Vec<f64> = trace.columns.iter().map(hill).collect();
    let at = |at: usize| coordinate(left + (at as f64 + 0.5) * width);
    let columns = || trace.columns.iter().enumerate();
    BandView {
        channel: trace.channel.clone(),
        top: coordinate(top),
        ground: coordinate(ground),
        text: coordinate(ground - BAND / 2.0 + 4.0),
        marks: coordinate(ground + 2.0),
        hill: bars(left, width, ground, &tops),
        slope,
        begins: columns()
            .filter(|(_, column)| column.begins > 0)
            .map(|(x, _)| format!("M{} {}v4", at(x), coordinate(ground + 2.0)))
            .collect(),
        dips: columns()
            .filter(|(_, column)| column.hides_a_dip)
            .map(|(x, _)| at(x))
            .collect(),
    }
}

fn steady_view(design: &Design, levels: &[Level], left: f64, room: f64, y: &mut f64) -> SteadyView {
    let lights = preview::lights(design);
    let top = *y;
    let a_row = (room / CELL).floor().max(1.0) as usize;
    let mut rows = Vec::new();
    let mut at = top + TITLE;
    for (id, (channel, lights)) in design.project.channels.iter().zip(&lights).enumerate() {
        for some in levels.chunks(a_row) {
            let lamp = |(i, level): (usize, &Level)| {
                let light = lights[usize::from(level.0)];
                Lamp {
                    x: coordinate(left + 14.0 + i as f64 * CELL),
                    radius: coordinate(3.0 + light.0 / 10.0),
                    glow: format!("{:.2}", (light.0 / 100.0).clamp(0.0, 1.0)),
                    label: format!("{:.1}", light.0),
                }
            };
            rows.push(SteadyRow {
                channel: channel.name.value.clone(),
                lit: steady(design, id),
                y: coordinate(at + 16.0),
                lamps: some.iter().enumerate().map(lamp).collect(),
            });
            at += BAND;
        }
    }
    *y = at + MARKS;
    SteadyView {
        title: format!("{} levels, equal steps apart, in L*", levels.len()),
        top: coordinate(top + 16.0),
        rows,
    }
}
