//! The compiler in a build script.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use duskloom::emit::SourceFile;

use crate::rust::support::{folder, output, run};

const LIGHT: &str = "\
name: semaphore
chip: attiny85
channels: 2
use: arms.yaml
patterns:
  idle:
    - {to: 40 %, over: 1 s}
    - {to: 0 %, over: 1 s}
shows:
  - solo: {patterns: [arms, idle]}
button: {pin: PB3}
watchdog: 700 ms
";

const ARMS: &str = "\
patterns:
  arms:
    - {to: 100 %, over: 300 ms}
    - {to: 0 %, over: 900 ms}
";

const MAIN: &str = r#"
include!(concat!(env!("OUT_DIR"), "/light.rs"));

fn main() {
    let mut player = light::Player::new(light::Scene::ARMS);
    let brightest = (0..1000).map(|_| player.tick()[0].0).max();
    println!("{brightest:?}");
}
"#;

fn file(path: &str, text: impl Into<String>) -> SourceFile {
    SourceFile {
        path: path.to_string(),
        text: text.into(),
    }
}

/// A build script waits for so many crates at most.
const CRATES: usize = 75;

/// A firmware project with this light; its build takes the very dependencies of this one.
fn project(name: &str, light: &str) -> PathBuf {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let manifest = format!(
        r#"
[package]
name = "{name}"
version = "0.1.0"
edition = "2024"

[build-dependencies]
duskloom = {{ path = '{}', default-features = false }}

[workspace]
"#,
        root.display()
    );
    let lock = fs::read_to_string(root.join("Cargo.lock")).expect("of this repository");
    folder(
        name,
        &[
            file("Cargo.toml", manifest),
            file("Cargo.lock", lock),
            file(
                "build.rs",
                "fn main() {\n    duskloom::build(\"light.yaml\");\n}\n",
            ),
            file("src/main.rs", MAIN),
            file("light.yaml", light),
            file("arms.yaml", ARMS),
        ],
    )
}

fn cargo(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO"));
    // Beside the tests themselves, as most of what it needs is built there.
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).parent();
    command
        .args(arguments)
        .arg("--offline")
        .env(
            "CARGO_TARGET_DIR",
            target.expect("it is below the target folder"),
        )
        .env("CARGO_TERM_COLOR", "never")
        .env_remove("RUSTFLAGS");
    command
}

#[test]
fn a_project_is_a_module_of_the_crate_and_is_built_anew_when_it_changes() {
    let folder = project("semaphore", LIGHT);
    let first = run(&mut cargo(&["run", "--quiet"]), &folder);
    assert_eq!(first.trim(), "Some(65280)");
    // A change of the library.
    let dimmer = ARMS.replace("100 %", "50 %");
    fs::write(folder.join("arms.yaml"), dimmer).expect("writable");
    let second = run(&mut cargo(&["run", "--quiet"]), &folder);
    assert_ne!(first, second);
    // A caution has its place; nothing of the generated module is warned about.
    let built = output(&mut cargo(&["check"]), &folder);
    let said = String::from_utf8_lossy(&built.stderr).into_owned();
    let caution = "warning: semaphore@0.1.0: light.yaml:12:11: [C";
    assert!(
        said.contains(caution) && said.matches("warning").count() == 1,
        "{said}"
    );
    // An error has its place, and ends the build.
    fs::write(folder.join("light.yaml"), LIGHT.replace("40 %", "40 s")).expect("writable");
    let failed = output(&mut cargo(&["check"]), &folder);
    let said = String::from_utf8_lossy(&failed.stderr).into_owned();
    assert!(!failed.status.success());
    assert!(
        said.contains("error: semaphore@0.1.0: light.yaml:7:12: [S"),
        "{said}"
    );
}

#[test]
fn a_build_script_waits_for_few_crates() {
    let arguments =
        "tree --locked --no-default-features --edges normal,build --prefix none --format {p}";
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let arguments: Vec<&str> = arguments.split(' ').collect();
    let listed = run(&mut cargo(&arguments), root);
    let crates: BTreeSet<&str> = listed
        .lines()
        .filter_map(|line| line.split(" (").next())
        .collect();
    assert!(crates.iter().any(|name| name.starts_with("duskloom ")));
    assert!(crates.len() <= CRATES, "{}: {crates:?}", crates.len());
}
