//! Rust: a crate with tables and player for any microcontroller, and a firmware around it.

mod chip;
mod names;
mod tables;

use std::sync::LazyLock;

use minijinja::Environment;
use serde::Serialize;

pub use chip::interrupt;
pub use names::package;

use crate::design::Design;
use crate::drive::{self, mixed, port, timer};
use crate::emit::context::{Context, Registers};
use crate::emit::recording::Recording;
use crate::emit::{SourceFile, spaced};
use crate::firmware;
use crate::input;
use crate::light;
use crate::template::{environment, rendered};

macro_rules! templates {
    ($($name:literal),* $(,)?) => {
        [$(($name, include_str!(concat!("../../../templates/rust/", $name, ".j2")))),*]
    };
}

/// What the firmware has in common with that in C. There `head.S` includes what names registers; here
/// `names.s` does that.
const ASSEMBLY: [(&str, &str); 3] = [
    ("head.S", ""),
    (
        "firmware/src/player.s",
        include_str!("../../../templates/avr/player.S.j2"),
    ),
    (
        "firmware/src/tables.s",
        include_str!("../../../templates/avr/tables.S.j2"),
    ),
];

static TEMPLATES: LazyLock<Environment<'static>> = LazyLock::new(|| {
    let own = templates![
        ".gitignore",
        "Cargo.toml",
        "README.md",
        "module.rs",
        "src/exports.rs",
        "src/generator.rs",
        "src/lib.rs",
        "src/light.rs",
        "src/outputs.rs",
        "src/player.rs",
        "src/scene.rs",
        "src/tables.rs",
        "src/track.rs",
        "tests/frames.rs",
        "tests/outputs.rs",
        "firmware/Cargo.toml",
        "firmware/.cargo/config.toml",
        "firmware/src/light.rs",
        "firmware/src/main.rs",
        "firmware/src/memory.rs",
        "firmware/src/names.s",
        "firmware/src/player.rs",
        "firmware/src/pwm.s",
        "firmware/src/registers.rs",
    ];
    let drives = [
        &drive::TEMPLATES[..],
        &timer::TEMPLATES,
        &port::TEMPLATES,
        &mixed::TEMPLATES,
    ]
    .concat();
    environment(
        &[
            &own[..],
            &ASSEMBLY,
            &light::TEMPLATES,
            &input::TEMPLATES,
            &drives,
            &firmware::TEMPLATES,
        ]
        .concat(),
    )
});

/// What Rust has beyond what all languages share.
#[derive(Debug, Serialize)]
struct RustContext {
    #[serde(flatten)]
    shared: Context,
    rust: Rust,
    /// All in one file, to be included.
    module: bool,
}

#[derive(Debug, Serialize)]
struct Rust {
    #[serde(flatten)]
    names: names::Names,
    #[serde(flatten)]
    tables: tables::Tables,
    #[serde(flatten)]
    chip: chip::Chip,
    /// Only for the crate's own tests.
    recording: Option<Recording>,
    /// With outputs for `embedded-hal`.
    with_outputs: bool,
}

/// The player's crate, and in `firmware/` a complete firmware for the project's chip.
pub fn firmware(design: &Design) -> Vec<SourceFile> {
    files(design, true)
}

/// The player's crate: tables and player, for a main program of the person's own.
pub fn player(design: &Design) -> Vec<SourceFile> {
    files(design, false)
}

/// Tables and player as one file to `include!`: a module named after the project file. With
/// `outputs`, who includes it depends on `embedded-hal`.
pub fn module(design: &Design, outputs: bool) -> String {
    let mut context = RustContext::new(design, false);
    context.module = true;
    context.rust.with_outputs = outputs;
    rendered(&TEMPLATES, "module.rs", &context)
}

impl RustContext {
    fn new(design: &Design, firmware: bool) -> Self {
        Self {
            shared: Context::new(design, firmware, Registers::Compilers),
            rust: Rust {
                names: names::Names::new(design),
                tables: tables::Tables::new(design),
                chip: chip::Chip::new(design),
                recording: None,
                with_outputs: true,
            },
            module: false,
        }
    }
}

fn files(design: &Design, firmware: bool) -> Vec<SourceFile> {
    let mut context = RustContext::new(design, firmware);
    context.rust.recording = Some(Recording::new(design));
    TEMPLATES
        .templates()
        .map(|(name, _)| name)
        .filter(|name| wanted(name, design, firmware))
        .map(|name| SourceFile {
            path: name.to_string(),
            text: text(name, &context),
        })
        .collect()
}

fn text(name: &str, context: &RustContext) -> String {
    let text = rendered(&TEMPLATES, name, context);
    if name.ends_with(".s") {
        spaced(&text)
    } else {
        text
    }
}

/// Files whose subject the project has.
fn wanted(name: &str, design: &Design, firmware: bool) -> bool {
    match name {
        // Parts of others.
        "module.rs" | "src/exports.rs" => false,
        _ if name.ends_with(".S") => false,
        "src/generator.rs" => design.firmware.features.draws,
        "firmware/src/memory.rs" => firmware && design.firmware.memory.is_some(),
        _ => firmware || !name.starts_with("firmware/"),
    }
}
