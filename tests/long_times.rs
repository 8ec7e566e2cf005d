//! Hours and days are the most ordinary wish of all: no command may take more memory for them.
//!
//! Each command runs as a process of its own whose whole address space is limited, so that what is
//! proved is the memory of the program as people have it, and not what a test happens to count.

use std::path::Path;
use std::process::Command;

/// What a command may take, in KiB: 100 MB of its own besides the stacks and the program's text.
const MOST: u32 = 100 * 1024 + STACKS_AND_TEXT;
/// Two stacks of 2 MB and what the loader maps of a program that is not optimised.
const STACKS_AND_TEXT: u32 = 60 * 1024;
/// Seconds of work after which something does not end. Speed is measured in `benches/`.
const HANGS: u32 = 60;

/// A light, its patterns, and a word for what is long in it.
const PROJECTS: [(&str, &str); 6] = [
    (
        "hold",
        "glow: [{set: 30 %}, {hold: 168 h}, {to: 0 %, over: 1 s}]",
    ),
    (
        "fades",
        "dusk: [{to: 100 %, over: 8 h, ease: soft}, {to: 10 %, over: 8 h, ease: soft}]",
    ),
    (
        "repeats",
        "blink:\n    - repeat: 5000\n      steps: [{set: 20 %}, {hold: 1 min}, {set: 60 %}, {hold: 1 min}]",
    ),
    (
        "tide",
        "tide:\n    tracks:\n      - channels: all\n        steps: [{wave: sine, period: 30 min, low: 10 %, high: 90 %}]",
    ),
    (
        "tracks",
        "watch:\n    tracks:\n      - {channels: quay, steps: [{to: 90 %, over: 7 h}, {to: 20 %, over: 5 h}]}\n      \
         - {channels: mole, steps: [{set: 40 %}, {hold: 11 h}, {set: 80 %}, {hold: 13 h}]}",
    ),
    (
        "drawn",
        "windows:\n    tracks:\n      - channels: all\n        each: true\n        \
         steps: [{to: 20 % .. 60 %, over: 10 min .. 2 h}, {hold: 1 h .. 5 h}]",
    ),
];

/// What is asked of each of them; `FILE` stands for it, `OUT` for a folder.
const COMMANDS: [&str; 11] = [
    "build FILE --out OUT/c",
    "build FILE --to rust --out OUT/rust",
    "build FILE --player-only --out OUT/player",
    "budget FILE",
    "preview FILE",
    "preview FILE --start 100 h --span 24 h",
    "preview FILE --html OUT/page.html",
    "preview FILE --svg OUT/picture.svg",
    "curve FILE",
    "wiring FILE",
    "diff FILE FILE",
];

/// Runs the tool within its limits. `Err`: what it said.
fn run(folder: &Path, words: &[String]) -> Result<(), String> {
    let limited = format!("ulimit -v {MOST} && ulimit -t {HANGS} && exec \"$0\" \"$@\"");
    let ran = Command::new("sh")
        .arg("-c")
        .arg(limited)
        .arg(env!("CARGO_BIN_EXE_duskloom"))
        .args(words)
        .current_dir(folder)
        // Threads share one arena and one core, so that address space means memory.
        .env("MALLOC_ARENA_MAX", "1")
        .env("RAYON_NUM_THREADS", "1")
        .output()
        .expect("a shell");
    if ran.status.success() {
        return Ok(());
    }
    let said = String::from_utf8_lossy(&ran.stderr);
    Err(format!("{}: {}: {said}", words.join(" "), ran.status))
}

/// A command's words; a time with its unit is one.
fn words(command: &str, file: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in command.split(' ') {
        match words.last_mut() {
            Some(last) if word == "h" => *last += " h",
            _ => words.push(word.replace("FILE", file).replace("OUT", "out")),
        }
    }
    words
}

#[test]
fn no_command_takes_more_than_100_mb_for_hours_and_days() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut faults = Vec::new();
    for (name, pattern) in PROJECTS {
        let file = format!("{name}.yaml");
        let text = format!(
            "name: {name}\nchip: attiny85\nchannels:\n  quay: {{pin: PB0}}\n  mole: {{pin: PB1}}\n\
             patterns:\n  {pattern}\n"
        );
        std::fs::write(folder.path().join(&file), text).expect("it can be written");
        for command in COMMANDS {
            faults.extend(run(folder.path(), &words(command, &file)).err());
        }
    }
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// The limit is one: what needs more is stopped by it.
#[test]
fn a_process_that_needs_more_is_stopped() {
    let limited =
        format!("ulimit -v {MOST}; head -c 200000000 /dev/zero | tail -c 190000000 | wc -c");
    let ran = Command::new("sh").arg("-c").arg(limited).output();
    let ran = ran.expect("a shell");
    assert_ne!(String::from_utf8_lossy(&ran.stdout).trim(), "190000000");
}
