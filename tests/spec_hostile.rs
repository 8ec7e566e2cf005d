//! Files made to hurt: each is refused by one of the limits, and all of them together take less
//! than 100 MB. How long they take is measured in `benches/`.

use std::cell::Cell;
use std::fs;
use std::io;
use std::path::Path;
use std::process::Command;

use duskloom::diagnostic::{self, Report};
use duskloom::spec;

const HEAD: &str = "chip: attiny2313a\nchannels: 4\npatterns:\n";

/// The report on a text, which is handed over so that it is held only once.
fn refused(text: String) -> Report {
    let text = Cell::new(text.into_bytes());
    let open = |_: &Path| Ok(text.take());
    let report = spec::read_with(Path::new("hostile.yaml"), &open).expect_err("a hostile file");
    assert!(
        diagnostic::render(&report, false).len() < 20_000,
        "a report fit to be read"
    );
    report
}

fn assert_code(name: &str, code: &str, text: String) {
    let report = refused(text);
    let codes: Vec<_> = report.diagnostics.iter().map(|found| found.code).collect();
    assert!(codes.contains(&code), "{name}: {codes:?}");
}

/// The most memory this process has held, in kilobytes.
fn peak_memory() -> io::Result<u64> {
    let status = fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    let figure = line.and_then(|line| line.split_whitespace().nth(1));
    figure
        .and_then(|figure| figure.parse().ok())
        .ok_or(io::ErrorKind::InvalidData.into())
}

/// Tells a run of this program that it is alone with [`hostile_files_meet_a_limit`].
const ALONE: &str = "HOSTILE_FILES_ALONE";

/// In a process of its own, since its memory is that of the process.
#[test]
fn hostile_files_meet_a_limit_before_they_cost_memory() {
    if std::env::var_os(ALONE).is_some() {
        return hostile_files_meet_a_limit();
    }
    let alone = Command::new(std::env::current_exe().expect("this program"))
        .args(["--exact", "--nocapture"])
        .arg("spec_hostile::hostile_files_meet_a_limit_before_they_cost_memory")
        .env(ALONE, "yes")
        .output()
        .expect("this program again");
    let said = String::from_utf8_lossy(&alone.stdout) + String::from_utf8_lossy(&alone.stderr);
    assert!(
        alone.status.success() && said.contains("1 passed"),
        "{said}"
    );
}

fn hostile_files_meet_a_limit() {
    const MIB: usize = 1 << 20;
    let many = |item: &str, bytes: usize| item.repeat(bytes / item.len());

    assert_code(
        "brackets",
        "S005",
        format!("{HEAD}  a: {}", "[".repeat(100_000)),
    );
    assert_code(
        "braces",
        "S005",
        format!("{HEAD}  a: {}", "{a: ".repeat(100_000)),
    );
    let indented: String = (0..2000)
        .map(|depth| format!("{}a:\n", " ".repeat(depth)))
        .collect();
    assert_code("indentation", "S005", indented);
    assert_code(
        "dashes",
        "S005",
        format!("{HEAD}  a:\n    {}", "- ".repeat(100_000)),
    );

    let mut laughs = String::from("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n");
    for level in 1..20 {
        let aliases = vec![format!("*a{}", level - 1); 10].join(", ");
        laughs += &format!("a{level}: &a{level} [{aliases}]\n");
    }
    assert_code("aliases of aliases", "S003", laughs);
    let wide = format!(
        "a: &a [{}]\nb:\n{}",
        many("x, ", 60_000),
        "- *a\n".repeat(100_000)
    );
    assert_code("one wide alias", "S003", wide);

    assert_code(
        "a flow list",
        "S003",
        format!("a: [{}]", many("a, ", 15 * MIB)),
    );
    assert_code(
        "flow mappings",
        "S003",
        format!("a: [{}]", many("{a: b}, ", 15 * MIB)),
    );
    assert_code(
        "a block list",
        "S003",
        format!("a:\n{}", many("- a\n", 15 * MIB)),
    );
    assert_code(
        "small mappings",
        "S003",
        format!("a:\n{}", many("- a: b\n  c: d\n", 15 * MIB)),
    );
    assert_code(
        "quoted text",
        "S003",
        format!("a: \"{}\"", "x".repeat(15 * MIB)),
    );
    assert_code(
        "plain text",
        "S003",
        format!("a: {}", many("word ", 15 * MIB)),
    );
    assert_code(
        "lines of plain text",
        "S003",
        format!("a:\n{}", many("  word\n", 15 * MIB)),
    );
    assert_code(
        "a block of text",
        "S003",
        format!("a: |\n{}", many("  word\n", 15 * MIB)),
    );
    assert_code(
        "a comment",
        "S003",
        format!("# {}\n{HEAD}", "x".repeat(15 * MIB)),
    );
    assert_code(
        "empty lines",
        "S003",
        format!("{HEAD}{}", "\n".repeat(15 * MIB)),
    );
    let keys: String = (0..100_000).map(|key| format!("k{key}: x\n")).collect();
    assert_code("keys", "S003", keys);
    let anchors: String = (0..100_000).map(|name| format!("- &a{name} x\n")).collect();
    assert_code("anchors", "S010", anchors);
    assert_code("a long key", "S003", format!("{}: x\n", "k".repeat(MIB)));
    assert_code("documents", "S007", "---\na: b\n".repeat(100_000));
    assert_code("too large", "S003", " ".repeat(17 * MIB));

    let faults = "    - {hold: 5}\n".repeat(100_000);
    let report = refused(format!("{HEAD}  a:\n{faults}"));
    assert_eq!(report.diagnostics.len(), diagnostic::LISTED);
    assert_eq!(report.unlisted, 100_000 - diagnostic::LISTED);
    let names: String = (0..200).map(|n| format!("nobody-{n}: 5 %, ")).collect();
    let faults = format!("    - {{to: {{{names}}}, over: 1 s}}\n").repeat(500);
    refused(format!("{HEAD}  a:\n{faults}"));

    let steps = "    - {hold: 1 s}\n".repeat(100_000);
    let tracks: String = (1..=4)
        .map(|n| format!("      - {{channels: ch{n}, play: a}}\n"))
        .collect();
    let plays: String = (0..60)
        .map(|n| format!("  p{n}:\n    tracks:\n{tracks}"))
        .collect();
    assert_code(
        "steps played again",
        "S044",
        format!("{HEAD}  a:\n{steps}{plays}"),
    );

    let peak = peak_memory().expect("the memory of this process");
    assert!(peak < 100_000, "{peak} kB");
}
