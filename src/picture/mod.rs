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

use minijinja::value::Serde;
use minijinja::{AutoEscape, Environment, UndefinedBehavior, Value};
use serde::Serialize;

pub use curve::curve;
pub use timeline::timelines;
pub use tint::{Tint, tint};

static TEMPLATES: LazyLock<Environment<'static>> = LazyLock::new(|| {
    let mut environment = Environment::new();
    environment.set_undefined_behavior(UndefinedBehavior::Strict);
    environment.set_auto_escape_callback(|_| AutoEscape::Html);
    for (name, text) in [
        ("dusk", include_str!("../../templates/picture/dusk.svg.j2")),
        (
            "timeline",
            include_str!("../../templates/picture/timeline.svg.j2"),
        ),
        (
            "curve",
            include_str!("../../templates/picture/curve.svg.j2"),
        ),
    ] {
        environment
            .add_template(name, text)
            .expect("templates are tested with every demo");
    }
    environment
});

fn render(name: &str, context: &impl Serialize) -> String {
    let template = TEMPLATES.get_template(name).expect("registered above");
    let text = template
        .render(Value::from(Serde(context)))
        .unwrap_or_else(|error| {
            panic!("the template {name} asks for what its context lacks: {error:#}")
        });
    text + "\n"
}
