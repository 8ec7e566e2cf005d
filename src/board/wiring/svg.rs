//! The circuit as a picture, or as one for each of its blocks.

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use super::Wiring;
use super::ink::{Block, Stroke};
use crate::template::{environment, rendered};

static TEMPLATES: LazyLock<Environment<'static>> = LazyLock::new(|| {
    environment(&[
        (
            "circuit.svg",
            include_str!("../../../templates/svg/circuit.svg.j2"),
        ),
        (
            "strokes.svg",
            include_str!("../../../templates/svg/strokes.svg.j2"),
        ),
    ])
});

/// Of the whole picture: a page of paper holds it, and a telephone, turned, too.
const WIDTH: i32 = 680;
/// Around a block.
const GAP: i32 = 18;
/// Above the first block.
const HEAD: i32 = 56;
/// Below the last: how to read it.
const FOOT: i32 = 72;

/// A block of the circuit as a picture by itself.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BlockPicture {
    pub title: String,
    pub svg: String,
}

#[derive(Debug, Serialize)]
struct Picture<'a> {
    title: String,
    /// `None`: a block by itself has no heading.
    heading: Option<Heading>,
    width: i32,
    height: i32,
    blocks: Vec<Placed<'a>>,
}

#[derive(Debug, Serialize)]
struct Heading {
    /// Baseline of the lines below.
    foot: i32,
}

#[derive(Debug, Serialize)]
struct Placed<'a> {
    x: i32,
    y: i32,
    width: i32,
    height: i32,
    title: &'a str,
    strokes: &'a [Stroke],
}

impl<'a> Placed<'a> {
    fn new(block: &'a Block, x: i32, y: i32) -> Self {
        Self {
            x,
            y,
            width: block.width,
            height: block.height,
            title: &block.title,
            strokes: &block.strokes,
        }
    }
}

impl<'a> Picture<'a> {
    fn alone(block: &'a Block) -> Self {
        Self {
            title: block.title.clone(),
            heading: None,
            width: block.width,
            height: block.height,
            blocks: vec![Placed::new(block, 0, 0)],
        }
    }
}

pub(super) fn svg(wiring: &Wiring) -> String {
    let (blocks, width, bottom) = flow(&wiring.blocks);
    let picture = Picture {
        title: format!("Circuit around {}", wiring.chip),
        heading: Some(Heading { foot: bottom + 20 }),
        width,
        height: bottom + FOOT,
        blocks,
    };
    rendered(&TEMPLATES, "circuit.svg", &picture)
}

pub(super) fn blocks(wiring: &Wiring) -> Vec<BlockPicture> {
    let picture = |block: &Block| BlockPicture {
        title: block.title.clone(),
        svg: rendered(&TEMPLATES, "circuit.svg", &Picture::alone(block)),
    };
    wiring.blocks.iter().map(picture).collect()
}

/// In two columns, each block at the end of the shorter one; what is wider than a column goes across
/// both. Gives the width and the end, too.
fn flow(blocks: &[Block]) -> (Vec<Placed<'_>>, i32, i32) {
    let widest = blocks.iter().map(|block| block.width).max().unwrap_or(0);
    let width = WIDTH.max(widest + 2 * GAP);
    let column = (width - 3 * GAP) / 2;
    let lefts = [GAP, 2 * GAP + column];
    let mut ends = [HEAD; 2];
    let mut placed = Vec::new();
    for block in blocks {
        let below = block.height + GAP;
        if block.width > column {
            let y = ends[0].max(ends[1]);
            placed.push(Placed::new(block, GAP, y));
            ends = [y + below; 2];
        } else {
            let shorter = usize::from(ends[1] < ends[0]);
            placed.push(Placed::new(block, lefts[shorter], ends[shorter]));
            ends[shorter] += below;
        }
    }
    (placed, width, ends[0].max(ends[1]))
}
