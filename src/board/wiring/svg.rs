//! The package and its legs as a picture.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::{Leg, Side, Wiring};
use crate::template::{environment, rendered};

static TEMPLATES: LazyLock<Environment<'static>> = LazyLock::new(|| {
    environment(&[(
        "wiring.svg",
        include_str!("../../../templates/svg/wiring.svg.j2"),
    )])
});

/// From leg to leg, in pixels.
const PITCH: usize = 24;
/// Of a package with two rows of legs.
const WIDTH: usize = 110;
/// For the title, and below.
const MARGIN: usize = 44;
/// Of a letter, on the wide side.
const LETTER: usize = 7;

/// What the template draws. All in pixels, from the top left.
#[derive(Debug, Serialize)]
struct Picture<'a> {
    title: String,
    width: usize,
    height: usize,
    body: Body,
    legs: Vec<Placed<'a>>,
}

#[derive(Debug, Serialize)]
struct Body {
    x: usize,
    y: usize,
    width: usize,
    height: usize,
}

#[derive(Debug, Serialize)]
struct Placed<'a> {
    number: usize,
    name: &'a str,
    purpose: &'a str,
    /// Where it leaves the body.
    x: usize,
    y: usize,
    /// Where it points to, in degrees clockwise from the right.
    turn: u16,
}

pub(super) fn svg(wiring: &Wiring) -> String {
    rendered(&TEMPLATES, "wiring.svg", &Picture::new(wiring))
}

impl<'a> Picture<'a> {
    fn new(wiring: &'a Wiring) -> Self {
        let legs = &wiring.legs;
        let count = |side| legs.iter().filter(|leg| leg.side == side).count();
        let long = (count(Side::Left) + 1) * PITCH;
        let letters = |leg: &Leg| leg.name.chars().count() + leg.purpose.chars().count() + 5;
        let room = legs.iter().map(letters).max().unwrap_or(0) * LETTER;
        // Labels below and above a body with four rows of legs are written upright on end.
        let (body_width, above) = match wiring.rows {
            2 => (WIDTH, MARGIN),
            _ => (long, MARGIN + room),
        };
        let body = Body {
            x: room,
            y: above,
            width: body_width,
            height: long,
        };
        Self {
            title: format!("{}, {}, from above", wiring.chip, wiring.package),
            width: 2 * room + body_width,
            height: above + long + if wiring.rows == 2 { PITCH } else { room },
            legs: placed(legs, &body),
            body,
        }
    }
}

fn placed<'a>(legs: &'a [Leg], body: &Body) -> Vec<Placed<'a>> {
    let mut on_side = std::collections::BTreeMap::new();
    let mut place = |leg: &'a Leg| {
        let index = on_side.entry(leg.side).or_insert(0);
        *index += 1;
        let along = *index * PITCH;
        let (right, below) = (body.x + body.width, body.y + body.height);
        // Numbers run against the clock from the top left.
        let (x, y, turn) = match leg.side {
            Side::Left => (body.x, body.y + along, 180),
            Side::Bottom => (body.x + along, below, 90),
            Side::Right => (right, below - along, 0),
            Side::Top => (right - along, body.y, 270),
        };
        Placed {
            number: leg.number,
            name: &leg.name,
            purpose: &leg.purpose,
            x,
            y,
            turn,
        }
    };
    legs.iter().map(&mut place).collect()
}
