//! The preview as one page that needs no network: it plays the model's frames, and shows what the
//! reports say.
//!
//! ```text
//! Design ─record→ Frames ─pack→ text ┐
//!        └─flash, budget, pins───────┴─template→ HTML
//! ```
//!
//! `templates/page` holds the look and the player. The player knows no pattern: it unpacks frames.

mod conduct;
mod flash;
mod frames;
mod pack;
mod sections;

use crate::spec::PatternId;
use std::sync::LazyLock;

use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;
use minijinja::Environment;
use serde::Serialize;

use crate::board;
use crate::board::flash::SAFE;
use crate::budget::Verdict;
use crate::design::Design;
use crate::diagnostic::Diagnostic;
use crate::light::Tint;
use crate::picture;
use crate::preview;
use crate::template::{environment, rendered};

pub use flash::most_flashes;
pub use frames::{Frames, record, summed};
pub use pack::{pack, unpack};

use conduct::{Conduct, Control};
use sections::{Bar, Bought, Caution, Drawn, Place};

static TEMPLATES: LazyLock<Environment<'static>> = LazyLock::new(|| {
    environment(&[
        (
            "page.html",
            include_str!("../../templates/page/page.html.j2"),
        ),
        ("style.css", include_str!("../../templates/page/style.css")),
        ("player.js", include_str!("../../templates/page/player.js")),
        ("stage.js", include_str!("../../templates/page/stage.js")),
        ("light.js", include_str!("../../templates/page/light.js")),
    ])
});

/// What the template shows.
#[derive(Serialize)]
struct Page {
    name: String,
    chip: String,
    facts: Vec<(&'static str, String)>,
    cautions: Vec<Caution>,
    patterns: Vec<Choice>,
    channels: Vec<String>,
    controls: Vec<Control>,
    bars: Vec<Bar>,
    pins: Vec<Place>,
    /// As SVG, in base64.
    curve: String,
    /// The circuit, part by part.
    circuit: Vec<Drawn>,
    parts: Vec<Bought>,
    data: String,
}

#[derive(Serialize)]
struct Choice {
    name: String,
    facts: String,
    flashes: bool,
    /// A level of a steady show.
    steady: bool,
}

/// What the player needs.
#[derive(Serialize)]
struct Data {
    /// Seconds.
    tick: f64,
    channels: Vec<ChannelData>,
    patterns: Vec<PatternData>,
    conduct: Conduct,
}

#[derive(Serialize)]
struct ChannelData {
    name: String,
    tint: Tint,
    slope: picture::Slope,
    /// That are drawn: its LEDs, or some where nothing is said of them.
    lamps: u32,
    /// By level, of 65 280.
    duties: Vec<u16>,
}

#[derive(Serialize)]
struct PatternData {
    name: String,
    facts: String,
    ticks: usize,
    /// Where it goes on after the last tick.
    again: usize,
    random: bool,
    /// The most flashes in a second when played at speed 1, 2 and 4.
    flashes: [usize; 3],
    /// By channel.
    frames: Vec<String>,
}

/// The page of a design; `cautions` is what the person was told besides.
pub fn page(design: &Design, verdict: &Verdict, cautions: &[Diagnostic]) -> String {
    let (known, mut patterns): (Vec<PatternId>, Vec<PatternData>) = preview::played(design)
        .map(|(pattern, scene)| {
            let name = design.project.pattern(pattern).name.value.clone();
            let frames = record(design, pattern, scene);
            (pattern, pattern_data(design, name, frames))
        })
        .unzip();
    let levels = frames::steady(design).into_iter();
    patterns.extend(levels.map(|(name, frames)| pattern_data(design, name, frames)));
    let choices = patterns.iter().enumerate().map(|(at, data)| Choice {
        name: data.name.clone(),
        facts: data.facts.clone(),
        flashes: data.flashes[0] > SAFE,
        steady: at >= known.len(),
    });
    let choices = choices.collect();
    let duties = design.deck.duties(design.scale.levels());
    let channels = design.project.channels.iter().zip(duties).enumerate();
    let data = Data {
        tick: design.grid.tick_seconds(),
        channels: channels
            .map(|(id, (channel, duties))| ChannelData {
                name: channel.name.value.clone(),
                tint: picture::tint(design, id),
                slope: picture::slope(design, id),
                lamps: lamps(design, id),
                duties: duties.into_iter().map(|duty| duty.0).collect(),
            })
            .collect(),
        patterns,
        conduct: conduct::conduct(design, &known),
    };
    let data = serde_json::to_string(&data).expect("plain data");
    let card = board::wiring(design, &verdict.board);
    let page = Page {
        name: design.project.name.value.clone(),
        chip: design.plan.chip.title.clone(),
        facts: crate::curve::facts_with_light(design, &verdict.board.lamps),
        cautions: sections::cautions(design, &card, cautions),
        patterns: choices,
        channels: design
            .project
            .channels
            .iter()
            .map(|channel| channel.name.value.clone())
            .collect(),
        controls: conduct::controls(design),
        bars: sections::bars(verdict),
        pins: sections::pins(design),
        curve: BASE64_STANDARD.encode(picture::curve(design, &verdict.board.lamps)),
        circuit: sections::circuit(&card),
        parts: sections::parts(&card),
        // Within a script, nothing may look like its end.
        data: data.replace("</", "<\\/"),
    };
    rendered(&TEMPLATES, "page.html", &page)
}

/// The most flashes in a second of frames played at speed 1, 2 and 4: of any string by itself, of a
/// group, or of all together, as the board judges them.
pub fn flashes(design: &Design, frames: &Frames) -> [usize; 3] {
    let lights = frames.parties(design);
    let tick = design.grid.tick_seconds();
    [1.0, 2.0, 4.0].map(|speed| {
        let flashes = lights.iter().map(|light| most_flashes(light, tick / speed));
        flashes.max().unwrap_or(0)
    })
}

/// Where a project says nothing of its strings.
const SOME_LAMPS: u32 = 11;

fn lamps(design: &Design, channel: usize) -> u32 {
    let string = design.project.electrics.strings.get(channel);
    string
        .and_then(Option::as_ref)
        .map_or(SOME_LAMPS, |string| {
            string.leds.value.saturating_mul(string.parallel.value)
        })
}

fn pattern_data(design: &Design, name: String, frames: Frames) -> PatternData {
    PatternData {
        name,
        ticks: frames.ticks(),
        again: frames.again,
        random: frames.random,
        flashes: flashes(design, &frames),
        frames: frames.channels.iter().map(|levels| pack(levels)).collect(),
        facts: frames.facts,
    }
}
