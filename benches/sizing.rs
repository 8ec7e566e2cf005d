//! What a firmware with everything in it takes, part by part: estimated, and where avr-gcc is there,
//! measured. Run it before and after a change of the C templates:
//!
//!     cargo bench --bench sizing [PROJECT]

#[path = "../tests/common/avr_gcc.rs"]
mod avr_gcc;

use std::io::Write;
use std::path::PathBuf;
use std::process::Command;

use flate2::Compression;
use flate2::write::DeflateEncoder;

use duskloom::budget::{Flash, Ram, Style, budget_of, report};
use duskloom::design::Design;
use duskloom::emit::{Language, rust};
use duskloom::verify::compile_as;
use duskloom::{diagnostic, emit, spec};

fn main() {
    let given = std::env::args()
        .skip(1)
        .find(|argument| !argument.starts_with('-'));
    let default = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/sizing.yaml");
    let path = PathBuf::from(given.unwrap_or_else(|| default.to_string()));
    let project = spec::read(&path).unwrap_or_else(|report| {
        eprint!("{}", diagnostic::render(&report, false));
        std::process::exit(1)
    });
    let design = Design::new(project).unwrap_or_else(|errors| {
        eprintln!("{errors:#?}");
        std::process::exit(1)
    });
    let sources = emit::firmware(&design);
    println!(
        "{}",
        report(&budget_of(&design, &sources), Style::default())
    );
    println!("{}", packed(&design));
    if Command::new("avr-gcc").arg("--version").output().is_ok() {
        measured(&design, &sources);
    }
}

/// What an experienced hand needs for a light of this kind: in C with an interrupt in assembly, and all in
/// assembly.
const BY_HAND: [(&str, u32); 2] = [("C and assembly", 688), ("assembly", 598)];

/// Programs as the player reads them, beside what DEFLATE (RFC 1951) makes of the same bytes; whoever unpacks
/// those is not counted.
fn packed(design: &Design) -> String {
    let programs = &design.deck.image.bytes;
    let mut deflate = DeflateEncoder::new(Vec::new(), Compression::best());
    let written = deflate.write_all(programs).and_then(|()| deflate.finish());
    let deflated = written.expect("memory takes it").len();
    format!(
        "programs: {} B, played as they are; {deflated} B deflated, without what unpacks them\n",
        programs.len()
    )
}

fn measured(design: &Design, sources: &[emit::SourceFile]) {
    let (flash, ram) = (Flash::new(design, sources), Ram::new(design, sources));
    let built = avr_gcc::build(sources);
    let total = built.firmware.flash_use.0;
    let (fixed, stack) = (built.firmware.ram_use.0, built.deepest_stack());
    println!("measured with {}:\n", avr_gcc::version());
    println!("{:<36}{:>8}{:>12}", "", "measured", "estimated");
    let row = |what: &str, measured: u32, estimated: u32| {
        println!("{what:<36}{measured:>6} B{estimated:>10} B");
    };
    for (name, bytes) in flash.parts() {
        let is = if bytes == flash.main {
            total - flash.assembly().0
        } else {
            bytes.0
        };
        row(name, is, bytes.0);
    }
    row("flash in all", total, flash.total().0);
    for (how, bytes) in BY_HAND {
        println!("{:<36}{bytes:>6} B", format!("by hand, in {how}"));
    }
    row("RAM: variables", fixed, ram.fixed().0);
    row("RAM: stack at its deepest", stack, ram.stack.0);
    row("RAM in all", fixed + stack, ram.total().0);
    println!(
        "{:<36}{:>6} cycles, entry and return counted; {} out of sleep",
        "PWM interrupt",
        design.plan.drive.cost().longest.0,
        design.plan.drive.cost().with_waking().0
    );
    match compile_as(design, Language::Rust) {
        Ok(in_rust) => {
            let shared = flash.assembly().0 - flash.interrupt.0;
            println!("{:<36}{shared:>6} B", "the same in Rust: tables and player");
            println!(
                "{:<36}{:>6} B",
                "and all that is not",
                in_rust.flash_use.0 - shared
            );
            println!(
                "{:<36}{:>6} B, {:.2} of C's; {} of RAM without the stack",
                "flash in Rust",
                in_rust.flash_use.0,
                f64::from(in_rust.flash_use.0) / f64::from(total),
                in_rust.ram_use
            );
            println!(
                "{:<36}{:>6} cycles",
                "PWM interrupt in Rust",
                rust::interrupt(design).longest.0
            );
        }
        Err(error) => println!("in Rust: {error}"),
    }
}
