//! The demos' firmware compiles as strictly as compilers go, and fits.

use std::path::Path;
use std::process::Command;

use duskloom::verify::Firmware;

use crate::demos::support::{demos, design, root};

/// Left for the stack: more than the deepest that the simulator has seen.
const STACK: u32 = 16;

/// `make` alone, with the flags of the generated Makefile, which has warnings for errors.
#[test_with::executable("avr-gcc")]
#[test]
fn every_demo_builds_without_a_warning_and_fits_its_chip() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for demo in demos() {
        let design = design(&demo);
        let name = &design.project.name.value;
        let out = folder.path().join(name);
        generate(&demo, &out);
        let makefile = std::fs::read_to_string(out.join("Makefile")).expect("a Makefile");
        for flag in ["-Wall", "-Wextra"] {
            assert!(makefile.contains(flag), "{name} is compiled with {flag}");
        }
        let made = Command::new("make")
            .arg("-C")
            .arg(&out)
            .output()
            .expect("make runs");
        let said = String::from_utf8_lossy(&made.stderr);
        assert!(made.status.success() && said.is_empty(), "{name}: {said}");
        let firmware = Firmware::read(&out.join(format!("{name}.elf"))).expect("an ELF file");
        let chip = design.plan.chip;
        assert!(
            firmware.flash_use <= chip.flash,
            "{name}: {:?}",
            firmware.flash_use
        );
        assert!(
            firmware.ram_use.0 + STACK <= chip.ram.size.0,
            "{name}: {:?}",
            firmware.ram_use
        );
    }
}

/// As a user would.
fn generate(demo: &Path, out: &Path) {
    let built = Command::new(env!("CARGO_BIN_EXE_duskloom"))
        .current_dir(root())
        .arg("build")
        .arg(demo)
        .arg("--out")
        .arg(out)
        .output()
        .expect("duskloom runs");
    assert!(
        built.status.success(),
        "{}",
        String::from_utf8_lossy(&built.stderr)
    );
}
