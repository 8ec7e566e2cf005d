//! Pictures (SVG) of what the text reports say: timelines, and the brightness curve.
//!
//! ```text
//! Design, View ─timeline, curve→ numbers ─template→ SVG
//! ```
//!
//! Templates hold the look; Rust holds where things are.

mod curve;
mod path;
mod timeline;
mod tint;

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

use crate::template::{environment, rendered};

pub use curve::curve;
pub use timeline::timelines;
pub use tint::{Slope, slope, tint};

static TEMPLATES: LazyLock<Environment<'static>> = LazyLock::new(|| {
    environment(&[
        (
            "dusk.svg",
            include_str!("../../templates/picture/dusk.svg.j2"),
        ),
        (
            "timeline.svg",
            include_str!("../../templates/picture/timeline.svg.j2"),
        ),
        (
            "curve.svg",
            include_str!("../../templates/picture/curve.svg.j2"),
        ),
    ])
});

fn render(name: &str, context: &impl Serialize) -> String {
    rendered(&TEMPLATES, name, context)
}
