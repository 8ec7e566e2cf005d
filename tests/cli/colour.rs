//! Colour only where somebody sees it, and pipes that close.

use std::io::Read;
use std::process::Stdio;

use crate::cli::support::{Answer, Desk, scenario};

fn wrong() -> Desk {
    Desk::with("name: x\n")
}

#[test]
fn no_colour_without_a_terminal() {
    assert!(!wrong().run("build light.yaml").err.contains('\u{1b}'));
    assert!(!wrong().run("explain Z123").err.contains('\u{1b}'));
    assert!(!wrong().run("--help").out.contains('\u{1b}'));
}

#[test]
fn colour_can_be_forced_and_refused() {
    let desk = wrong();
    let forced = Answer::of(desk.command("build light.yaml").env("CLICOLOR_FORCE", "1"));
    assert!(forced.err.contains('\u{1b}'));
    let refused = Answer::of(
        desk.command("build light.yaml")
            .env("CLICOLOR_FORCE", "1")
            .env("NO_COLOR", "1"),
    );
    assert!(!refused.err.contains('\u{1b}'));
}

/// As in `duskloom preview light.yaml | head -1`.
#[test]
fn a_reader_that_goes_away_is_no_error() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let mut child = desk
        .command("preview light.yaml --width 1000")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the tool runs");
    drop(child.stdout.take());
    let status = child.wait().expect("it ends");
    let mut said = String::new();
    child
        .stderr
        .take()
        .expect("piped")
        .read_to_string(&mut said)
        .expect("text");
    assert!(status.success() && said.is_empty(), "{status}: {said}");
}
