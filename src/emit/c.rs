//! C for avr-gcc: an assembly interrupt and player, and C for all the rest.

use std::sync::LazyLock;

use minijinja::Environment;

use crate::design::Design;
use crate::drive::{self, mixed, port, timer};
use crate::emit::context::{Context, Registers};
use crate::emit::{SourceFile, spaced};
use crate::firmware;
use crate::input;
use crate::light;
use crate::template::{environment, rendered};

/// A snippet of `main.c`, without the line break at its end.
macro_rules! snippet {
    ($name:literal) => {
        (
            $name,
            include_str!(concat!("../../templates/c/", $name, ".j2")).trim_ascii_end(),
        )
    };
}

static TEMPLATES: LazyLock<Environment<'static>> = LazyLock::new(|| {
    let shared = [
        &firmware::TEMPLATES[..],
        &drive::TEMPLATES,
        &timer::TEMPLATES,
        &port::TEMPLATES,
        &mixed::TEMPLATES,
        &light::TEMPLATES,
        &input::TEMPLATES,
    ];
    let own = [
        ("pwm.S", include_str!("../../templates/c/pwm.S.j2")),
        ("tables.S", include_str!("../../templates/avr/tables.S.j2")),
        ("player.S", include_str!("../../templates/avr/player.S.j2")),
        (
            "head.S",
            include_str!("../../templates/c/head.S.j2").trim_ascii_end(),
        ),
        ("light.h", include_str!("../../templates/c/light.h.j2")),
        ("main.c", include_str!("../../templates/c/main.c.j2")),
        ("Makefile", include_str!("../../templates/c/Makefile.j2")),
        snippet!("frame/beat.c"),
        snippet!("frame/now.c"),
        snippet!("frame/wait.c"),
        snippet!("target/calibration.c"),
        snippet!("target/clock.c"),
        snippet!("target/standby.c"),
        snippet!("target/converter.c"),
        snippet!("target/starts_dark.c"),
        snippet!("target/watchdog.c"),
        snippet!("drive/timer/keep_out.c"),
        snippet!("drive/timer/set_up.c"),
        snippet!("drive/timer/start.c"),
        snippet!("parts/button/define.c"),
        snippet!("parts/button/tick.c"),
        snippet!("parts/contacts/define.c"),
        snippet!("parts/contacts/tick.c"),
        snippet!("parts/dimmer/define.c"),
        snippet!("parts/dimmer/tick.c"),
        snippet!("parts/evening/begin.c"),
        snippet!("parts/evening/define.c"),
        snippet!("parts/evening/tick.c"),
        snippet!("parts/fade/define.c"),
        snippet!("parts/fade/lit.c"),
        snippet!("parts/guard/begin.c"),
        snippet!("parts/guard/define.c"),
        snippet!("parts/guard/tick.c"),
        snippet!("parts/measure/begin.c"),
        snippet!("parts/measure/tick.c"),
        snippet!("parts/memory/begin.c"),
        snippet!("parts/memory/define.c"),
        snippet!("parts/once/begin.c"),
        snippet!("parts/once/define.c"),
        snippet!("parts/once/tick.c"),
        snippet!("parts/shows/begin.c"),
        snippet!("parts/switch/define.c"),
        snippet!("parts/switch/tick.c"),
        snippet!("parts/shows/declare.c"),
        snippet!("parts/shows/define.c"),
    ];
    environment(&[&shared.concat()[..], &own].concat())
});

/// The complete firmware, ready for `make`.
pub fn firmware(design: &Design) -> Vec<SourceFile> {
    let context = Context::new(design, true, Registers::Interrupts);
    render(
        &[
            "Makefile", "light.h", "main.c", "pwm.S", "tables.S", "player.S",
        ],
        &context,
    )
}

/// The player of the complete firmware.
pub fn player_in_c(design: &Design) -> String {
    rendered(
        &TEMPLATES,
        "player.S",
        &Context::new(design, true, Registers::Interrupts),
    )
}

/// Tables and player, for a main program of the person's own.
pub fn player(design: &Design) -> Vec<SourceFile> {
    let context = Context::new(design, false, Registers::Interrupts);
    render(&["light.h", "tables.S", "player.S"], &context)
}

fn render(files: &[&str], context: &Context) -> Vec<SourceFile> {
    let file = |name: &&str| SourceFile {
        path: (*name).to_string(),
        text: text(name, context),
    };
    files.iter().map(file).collect()
}

fn text(name: &str, context: &Context) -> String {
    let text = rendered(&TEMPLATES, name, context);
    if name.ends_with(".S") {
        spaced(&text)
    } else {
        text
    }
}
