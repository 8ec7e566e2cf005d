//! The brightness curve as a picture: what each level gives, and how far that is from what it should.

use serde::Serialize;

use crate::board::{Lamp, worst};
use crate::curve::facts_with_light;
use crate::design::Design;
use crate::light::{LevelRow, rows};

use super::path::{coordinate, line};
use super::render;

const WIDTH: f64 = 960.0;
const LEFT: f64 = 76.0;
const RIGHT: f64 = 930.0;
/// The upper plot, and the lower one with the errors.
const TOP: f64 = 190.0;
const BOTTOM: f64 = 520.0;
const ERROR_TOP: f64 = 568.0;
const ERROR_BOTTOM: f64 = 688.0;
/// Rules across a plot.
const RULES: usize = 5;
/// The least distance of two labels below.
const GAP: f64 = 56.0;

#[derive(Serialize)]
struct Picture {
    name: String,
    width: f64,
    height: f64,
    left: f64,
    right: f64,
    bottom: f64,
    top: f64,
    error_top: f64,
    error_bottom: f64,
    facts: Vec<Fact>,
    rules: Vec<Rule>,
    error_rules: Vec<Rule>,
    levels: Vec<Rule>,
    wanted: String,
    real: Vec<Dot>,
    duty: String,
    /// `None`: no switch is known.
    at_led: Option<AtLed>,
    errors: String,
    allowed: [String; 2],
    about: String,
}

/// The light at the LED of the string whose switch is furthest off.
#[derive(Serialize)]
struct AtLed {
    name: String,
    light: String,
}

#[derive(Serialize)]
struct Fact {
    what: &'static str,
    is: String,
    y: f64,
}

#[derive(Serialize)]
struct Rule {
    at: String,
    label: String,
}

#[derive(Serialize)]
struct Dot {
    x: String,
    y: String,
}

/// The facts, a line each.
fn listed(facts: Vec<(&'static str, String)>) -> Vec<Fact> {
    let line = |(at, (what, is))| Fact {
        what,
        is,
        y: 66.0 + 17.0 * at as f64,
    };
    facts.into_iter().enumerate().map(line).collect()
}

/// Lightness, duty and error over the levels, as SVG; `lamps` are those of the design's strings.
pub fn curve(design: &Design, lamps: &[Lamp]) -> String {
    let light = &design.deck.light;
    let all = rows(
        &design.scale,
        |level| light.duty(level),
        design.plan.drive.pwm().whole,
    );
    let last = (all.len() - 1) as f64;
    let x = |row: &LevelRow| LEFT + f64::from(row.level.0) / last * (RIGHT - LEFT);
    let y = |percent: f64| BOTTOM - percent / 100.0 * (BOTTOM - TOP);
    let error = |row: &LevelRow| row.real.0 - row.ideal.0;

    let allowed = design.scale.allowed().0;
    let largest = all.iter().map(|row| error(row).abs()).fold(0.0, f64::max);
    let reach = allowed.max(largest) * 1.1;
    let middle = (ERROR_TOP + ERROR_BOTTOM) / 2.0;
    let error_y = |error: f64| middle - error / reach * (ERROR_BOTTOM - ERROR_TOP) / 2.0;

    let at_led = worst(lamps).map(|lamp| {
        let light = |row: &LevelRow| (x(row), y(lamp.light.typical[usize::from(row.level.0)].0));
        AtLed {
            name: design.project.channels[lamp.channel].name.value.clone(),
            light: line(all.iter().map(light)),
        }
    });
    let dot = |row: &LevelRow| Dot {
        x: coordinate(x(row)),
        y: coordinate(y(row.real.0)),
    };
    let facts = facts_with_light(design, lamps);
    let about = facts.iter();
    let about = about.map(|(what, is)| format!("{what}: {is}. ")).collect();
    let percent = |i: usize| 100.0 * i as f64 / RULES as f64;
    render(
        "curve.svg",
        &Picture {
            name: design.project.name.value.clone(),
            width: WIDTH,
            height: 740.0,
            left: LEFT,
            right: RIGHT,
            bottom: BOTTOM,
            top: TOP,
            error_top: ERROR_TOP,
            error_bottom: ERROR_BOTTOM,
            facts: listed(facts),
            rules: (0..=RULES)
                .map(|i| Rule {
                    at: coordinate(y(percent(i))),
                    label: format!("{:.0}", percent(i)),
                })
                .collect(),
            error_rules: [-allowed, 0.0, allowed]
                .map(|error| Rule {
                    at: coordinate(error_y(error)),
                    label: signed(error),
                })
                .into(),
            levels: level_rules(all.len(), |level| LEFT + level / last * (RIGHT - LEFT)),
            wanted: line(all.iter().map(|row| (x(row), y(row.ideal.0)))),
            real: all.iter().map(dot).collect(),
            duty: line(all.iter().map(|row| (x(row), y(row.on.0 * 100.0)))),
            at_led,
            errors: all
                .iter()
                .map(|row| {
                    format!(
                        "M{} {}V{}",
                        coordinate(x(row)),
                        coordinate(middle),
                        coordinate(error_y(error(row)))
                    )
                })
                .collect(),
            allowed: [-allowed, allowed].map(|error| coordinate(error_y(error))),
            about,
        },
    )
}

fn signed(error: f64) -> String {
    if error == 0.0 {
        "0".to_string()
    } else {
        format!("{error:+.2}").replace('-', "−")
    }
}

/// Levels to label: round numbers, and not too near each other.
fn level_rules(count: usize, x: impl Fn(f64) -> f64) -> Vec<Rule> {
    let step = [1, 2, 4, 8, 16, 32, 64]
        .into_iter()
        .find(|&step| x(step as f64) - x(0.0) >= GAP)
        .unwrap_or(64);
    let last = count - 1;
    (0..count)
        .step_by(step)
        .filter(|&level| x(last as f64) - x(level as f64) >= GAP / 2.0)
        .chain([last])
        .map(|level| Rule {
            at: coordinate(x(level as f64)),
            label: level.to_string(),
        })
        .collect()
}
