//! The firmware, built for its chip by a Rust compiler that can build `core`.

use std::path::{Path, PathBuf};
use std::process::Command;

use duskloom::design::Design;
use duskloom::emit::rust;
use duskloom::verify::Firmware;

use crate::support::{design, folder, output, projects, run};

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

/// The compiled firmware. `None`: there is no compiler for it here.
fn compiled(design: &Design) -> Option<Firmware> {
    let Some((cargo, rustc)) = toolchain() else {
        eprintln!("skipped: no Rust compiler with the source of `core`, or no avr-gcc");
        return None;
    };
    let name = &design.project.name.value;
    let folder = folder(&format!("avr-{name}"), &rust::firmware(design)).join("firmware");
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("rust-avr");
    let mut build = Command::new(cargo);
    build
        .args(["build", "--release", "--quiet"])
        .env("RUSTC", rustc)
        .env("RUSTC_BOOTSTRAP", "1")
        .env("CARGO_TARGET_DIR", &target)
        .env_remove("RUSTFLAGS");
    run(&mut build, &folder);
    let elf = target.join("avr-none/release").join(format!("{name}.elf"));
    Some(Firmware::read(&elf).expect("a linked firmware"))
}

#[test]
fn the_firmware_links_and_has_the_landmarks_of_the_proof() {
    for project in projects() {
        let design = design(&project);
        let Some(firmware) = compiled(&design) else {
            return;
        };
        let chip = design.plan.chip;
        let (flash, ram) = (firmware.flash_use, firmware.ram_use);
        eprintln!("{}: {flash} of flash, {ram} of RAM", project.display());
        assert!(ram < chip.ram.size, "{}", project.display());
        for symbol in ["lamps", "light_tick", "scene_start", "remembered"] {
            assert!(firmware.symbol(symbol).is_some(), "{symbol}");
        }
        let vector = u32::from(design.plan.interrupt.number) * chip.vectors.size.0;
        // push r16
        assert_eq!(firmware.flash[vector as usize..][..2], [0x0F, 0x93]);
    }
}

/// The 2 KB and 128 bytes of an ATtiny2313A hold eight patterns, three shows, button, memory, charge
/// pump and watchdog, with 48 bytes left for the stack (42 measured in the simulator).
#[test]
fn a_full_light_fits_the_smallest_chip() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let design = design(&root.join("tests/rust/projects/signal-box.yaml"));
    let Some(firmware) = compiled(&design) else {
        return;
    };
    assert!(firmware.flash_use.0 <= 2048, "{}", firmware.flash_use);
    assert!(firmware.ram_use.0 + 48 <= 128, "{}", firmware.ram_use);
}

#[test]
fn nothing_of_it_can_panic() {
    let Some((_, _)) = toolchain() else {
        return;
    };
    for project in projects() {
        let design = design(&project);
        let Some(_) = compiled(&design) else {
            return;
        };
        let name = &design.project.name.value;
        let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("rust-avr/avr-none/release");
        let mut nm = Command::new("avr-nm");
        let symbols = output(nm.args(["--demangle", &format!("{name}.elf")]), &target);
        let symbols = String::from_utf8_lossy(&symbols.stdout).into_owned();
        assert!(!symbols.contains("panick"), "{name}: {symbols}");
    }
}

/// Rust chip = model, as for C: every scene tick by tick, then button, power cuts and watchdog.
#[cfg(feature = "simulator")]
mod proof {
    use super::*;
    use duskloom::verify::bench::{Setup, Start};
    use duskloom::verify::{behaviour, pattern};

    #[test]
    fn the_chip_does_what_the_model_does() {
        for project in projects() {
            let design = design(&project);
            let Some(firmware) = compiled(&design) else {
                return;
            };
            let setup = Setup::new(&design, firmware).expect("its landmarks");
            for scene in 0..design.deck.image.score.scenes.len() {
                let start = Start {
                    scene: Some(scene),
                    ..Start::default()
                };
                let played = pattern::play(&setup, &start, 10.0).expect("it runs");
                assert!(played.holds(), "{}: {played:#?}", project.display());
            }
            let checks = behaviour::check(&setup, |_| ()).expect("it runs");
            for check in checks {
                assert!(check.holds(), "{}: {check:?}", project.display());
            }
        }
    }
}
