//! The firmware, built for its chip by a Rust compiler that can build `core`.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Mutex, PoisonError};

use duskloom::design::Design;
use duskloom::emit::rust;
use duskloom::verify::Firmware;

use crate::rust::support::{design, folder, run};

/// Debian's compiler, or else the one in use, if it has the source of `core`; and avr-gcc to link.
fn toolchain() -> Option<(PathBuf, PathBuf)> {
    let can = |rustc: &Path| {
        let asked = Command::new(rustc)
            .args(["--print", "sysroot"])
            .output()
            .ok()?;
        let sysroot = PathBuf::from(String::from_utf8(asked.stdout).ok()?.trim());
        let core = sysroot.join("lib/rustlib/src/rust/library/core/Cargo.toml");
        core.exists().then_some(())
    };
    Command::new("avr-gcc").arg("--version").output().ok()?;
    let pairs = [
        ("/usr/bin/cargo".into(), "/usr/bin/rustc".into()),
        (PathBuf::from(env!("CARGO")), PathBuf::from("rustc")),
    ];
    pairs.into_iter().find(|(_, rustc)| can(rustc).is_some())
}

/// What has been compiled, by the project's name. Several tests want the same, and none may clear
/// the folder that another is being compiled in.
static COMPILED: Mutex<BTreeMap<String, Firmware>> = Mutex::new(BTreeMap::new());

/// The compiled firmware. `None`: there is no compiler for it here.
fn compiled(design: &Design) -> Option<Firmware> {
    let mut compiled = COMPILED.lock().unwrap_or_else(PoisonError::into_inner);
    let name = &design.project.name.value;
    if let Some(firmware) = compiled.get(name) {
        return Some(firmware.clone());
    }
    let firmware = compile_anew(design)?;
    compiled.insert(name.clone(), firmware.clone());
    Some(firmware)
}

fn compile_anew(design: &Design) -> Option<Firmware> {
    compile_with(design, &[])
}

/// As compiled with these variables of the environment.
fn compile_with(design: &Design, variables: &[(&str, &str)]) -> Option<Firmware> {
    let Some((cargo, rustc)) = toolchain() else {
        eprintln!("skipped: no Rust compiler with the source of `core`, or no avr-gcc");
        return None;
    };
    let name = &design.project.name.value;
    let folder = folder(&format!("avr-{name}"), &rust::firmware(design)).join("firmware");
    let mut build = Command::new(cargo);
    build
        .args(["build", "--release", "--quiet"])
        .env("RUSTC", rustc)
        .env("RUSTC_BOOTSTRAP", "1")
        .env("CARGO_INCREMENTAL", "0")
        .env(
            "CARGO_TARGET_DIR",
            Path::new(env!("CARGO_TARGET_TMPDIR")).join("rust-avr"),
        )
        .env_remove("RUSTFLAGS")
        .env_remove("OSCCAL")
        .envs(variables.iter().copied());
    run(&mut build, &folder);
    let elf = target().join(format!("{name}.elf"));
    Some(Firmware::read(&elf).expect("a linked firmware"))
}

/// Where linked firmware is.
fn target() -> PathBuf {
    Path::new(env!("CARGO_TARGET_TMPDIR")).join("rust-avr/avr-none/release")
}

/// A chip without and one with `MUL`, and all forms of the player between them.
const PROJECTS: [&str; 7] = [
    "tests/rust/projects/branch-line.yaml",
    "tests/rust/projects/lock-gate.yaml",
    "tests/rust/projects/terrace.yaml",
    "patterns/theatre.yaml",
    "patterns/seawall.yaml",
    "patterns/observatory.yaml",
    "tests/rust/projects/signal-box.yaml",
];

fn designs() -> impl Iterator<Item = Design> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    PROJECTS.iter().map(|path| design(root.join(path)))
}

#[test_with::executable("avr-gcc")]
#[test]
fn the_firmware_links_with_the_landmarks_of_the_proof_and_cannot_panic() {
    for design in designs() {
        let name = &design.project.name.value;
        let Some(firmware) = compiled(&design) else {
            return;
        };
        let chip = design.plan.chip;
        eprintln!(
            "{name}: {} of flash, {} of RAM",
            firmware.flash_use, firmware.ram_use
        );
        assert!(firmware.ram_use < chip.ram.size, "{name}");
        let planes = design.plan.drive.planes().is_some();
        let shown = if planes { "planes" } else { "lamps" };
        for symbol in [shown, "light_tick", "scene_start", "remembered"] {
            assert!(firmware.symbol(symbol).is_some(), "{name}: {symbol}");
        }
        let vector = u32::from(design.plan.handlers()[0].number) * chip.vectors.size.0;
        const PUSH_R16: [u8; 2] = 0x930F_u16.to_le_bytes();
        let at_vector = &firmware.flash[vector as usize..][..2];
        // The watchdog's vector lies within what would be the interrupt's code.
        let apart = planes || design.firmware.has_nights();
        assert!(apart || at_vector == PUSH_R16, "{name}");
        let mut nm = Command::new("avr-nm");
        let symbols = run(nm.args(["--demangle", &format!("{name}.elf")]), &target());
        assert!(!symbols.contains("panick"), "{name}: {symbols}");
    }
}

/// The 2 KB and 128 bytes of an ATtiny2313A hold eight patterns, three shows, button, memory, charge
/// pump and watchdog, with 48 bytes left for the stack (42 measured in the simulator), and Rust takes a
/// quarter more than C at the most.
#[test_with::executable("avr-gcc")]
#[test]
fn a_full_light_fits_the_smallest_chip() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let design = design(root.join("tests/rust/projects/signal-box.yaml"));
    let Some(firmware) = compiled(&design) else {
        return;
    };
    assert!(firmware.flash_use.0 <= 2048, "{}", firmware.flash_use);
    assert!(firmware.ram_use.0 + 48 <= 128, "{}", firmware.ram_use);
    let in_c = duskloom::verify::compile(&design).expect("it compiles");
    let (rust, c) = (firmware.flash_use, in_c.flash_use);
    assert!(4 * rust.0 <= 5 * c.0, "{rust} against {c}");
}

/// `out OSCCAL, r24` and the like (0xBE01 with the register in between; OSCCAL is at 0x31 of the I/O space,
/// avr-libc's iom8.h), after `ldi` of the byte.
#[test_with::executable("avr-gcc")]
#[test]
fn a_chip_that_is_not_calibrated_takes_the_byte_that_cargo_is_given() {
    let text = "chip: atmega8\nname: uncalibrated\nchannels: {lamp: {pin: PB1}}\n\
                patterns: {glow: [{hold: 1 s}]}\n";
    let design = crate::common::designs::from_text("uncalibrated.yaml", text);
    let writes = |firmware: &Firmware| {
        let words: Vec<u16> = firmware
            .flash
            .chunks_exact(2)
            .map(|word| u16::from_le_bytes([word[0], word[1]]))
            .collect();
        let byte = words.iter().any(|word| word & 0xFF0F == 0xEA05);
        byte && words.iter().any(|word| word & 0xFE0F == 0xBE01)
    };
    let Some(plain) = compile_with(&design, &[]) else {
        return;
    };
    assert!(!writes(&plain));
    let given = compile_with(&design, &[("OSCCAL", "A5")]).expect("the same compiler");
    assert!(writes(&given));
}

/// Rust chip = model = C chip: every scene tick by tick; then, in Rust, button, power cuts and
/// watchdog. `duskloom verify` plays for longer.
mod proof {
    use super::*;
    use duskloom::verify::bench::{Setup, Start};
    use duskloom::verify::{behaviour, compile, pattern};

    #[test_with::executable("avr-gcc")]
    #[test]
    fn the_chip_does_what_the_model_does_in_either_language() {
        for design in designs() {
            let name = &design.project.name.value;
            let Some(in_rust) = compiled(&design) else {
                return;
            };
            let in_rust = Setup::new(&design, in_rust).expect("its landmarks");
            let in_c = compile(&design).expect("it compiles");
            let in_c = Setup::new(&design, in_c).expect("its landmarks");
            play_all(&in_rust, "Rust");
            play_all(&in_c, "C");
            if name == TOUCHED {
                for check in behaviour::check(&in_rust).expect("it runs") {
                    assert!(check.holds(), "{name}: {check:?}");
                }
            }
        }
    }

    /// Its dwells are the shortest, and so is the proof.
    const TOUCHED: &str = "branch-line";

    fn play_all(setup: &Setup, language: &str) {
        let name = &setup.design.project.name.value;
        for scene in 0..setup.design.deck.image.score.scenes.len() {
            let start = Start {
                scene: Some(scene),
                ..Start::default()
            };
            let played = pattern::play(setup, &start, 1.0).expect("it runs");
            assert!(
                played.failure.is_none() && played.holds(),
                "{name} in {language}: {played:#?}"
            );
        }
    }

    /// As a person proves it: one pattern, through the command line.
    #[test]
    fn the_command_proves_a_pattern_of_the_firmware_in_rust() {
        if toolchain().is_none() {
            return;
        }
        let output = Command::new(env!("CARGO_BIN_EXE_duskloom"))
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(["verify", "patterns/lantern.yaml", "--to", "rust"])
            .args(["--pattern", "calm", "--span", "3 s"])
            .env(
                "CARGO_TARGET_DIR",
                Path::new(env!("CARGO_TARGET_TMPDIR")).join("rust-avr"),
            )
            .output()
            .expect("duskloom runs");
        let said = String::from_utf8_lossy(&output.stdout);
        assert!(output.status.success(), "{output:?}");
        assert!(
            said.contains("Everything that was checked holds."),
            "{said}"
        );
    }
}
