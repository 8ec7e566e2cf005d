//! Tables and player within a program of the person's own: it compiles with nothing but the
//! compiler's usual start-up, wherever the tables come to lie.

use std::process::Command;

use duskloom::design::Design;
use duskloom::{emit, spec};

const PROJECT: &str = "
name: signal-box
chip: attiny85
channels: [home, distant]
patterns:
  shunting:
    each: true
    steps:
      - {to: 10 % .. 90 %, over: 200 ms .. 2 s}
      - {hold: 500 ms}
  clear: [{to: 100 %, over: 3 s, ease: soft}, {to: 20 %, over: 3 s}]
shows: [roam: {dwell: 10 s .. 40 s}]
change_fade: 1 s
";

const MAIN: &str = r#"
#include <avr/io.h>
#include "light.h"

/* Pushes the tables beyond the first 256 bytes of flash. */
__attribute__((used)) static const __flash char padding[400] = "of my own";

int main(void)
{
    generator = 1;
    scene_start(0);
    for (;;) {
        light_tick();
        OCR0A = 255 - (lamps[0] >> 8);
    }
}
"#;

#[test_with::executable("avr-gcc")]
#[test]
fn player_and_tables_compile_into_another_program() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("signal-box.yaml");
    std::fs::write(&path, PROJECT).expect("written");
    let project = spec::read(&path).expect("a right project");
    let design = Design::embedded(project).expect("it can be built");
    assert!(design.deck.image.format.long_addresses);
    for file in emit::player(&design) {
        std::fs::write(folder.path().join(&file.path), &file.text).expect("written");
    }
    std::fs::write(folder.path().join("own.c"), MAIN).expect("written");
    let output = Command::new("avr-gcc")
        .current_dir(folder.path())
        .arg(format!("-mmcu={}", design.plan.chip.name))
        .args(["-Os", "-std=gnu99", "-Wall", "-Wextra", "-Werror"])
        .args(["own.c", "tables.S", "player.S", "-o", "own.elf"])
        .output()
        .expect("avr-gcc runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
}
