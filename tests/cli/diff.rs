//! `diff`: files, revisions, and how it ends.

use std::process::Command;

use crate::cli::support::{Answer, Desk, scenario};

fn git(desk: &Desk, arguments: &[&str]) {
    let output = Command::new("git")
        .args([
            "-c",
            "user.name=Reviewer",
            "-c",
            "user.email=reviewer@example.org",
        ])
        .args(arguments)
        .current_dir(desk.path(""))
        .output()
        .expect("git runs");
    assert!(output.status.success(), "{output:?}");
}

/// A repository with the halt and a library in a folder, whose next version has other shadows.
fn repository() -> Desk {
    let desk = Desk::new();
    desk.write(
        "lights/halt.yaml",
        "chip: attiny13a\nchannels: [lamp]\nuse: ../shared/shades.yaml\n\
         patterns:\n  dusk:\n    tracks: [{channels: lamp, play: shade}]\n",
    );
    desk.write(
        "shared/shades.yaml",
        "patterns: {shade: [{to: 80 %, over: 1 s}, {to: 5 %, over: 1 s}]}\n",
    );
    git(&desk, &["init", "--quiet"]);
    git(&desk, &["add", "."]);
    git(&desk, &["commit", "--quiet", "-m", "first"]);
    desk.write(
        "shared/shades.yaml",
        "patterns: {shade: [{to: 60 %, over: 1 s}, {to: 5 %, over: 1 s}]}\n",
    );
    desk
}

#[test]
fn the_same_file_is_the_same() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let answer = desk.run("diff light.yaml light.yaml");
    insta::assert_snapshot!("diff_of_the_same", answer.shown());
}

/// Two patterns differ, and a third does not; so does the chip.
#[test]
fn a_pattern_can_be_asked_for() {
    let desk = Desk::with(&scenario("platform.yaml"));
    let changed = scenario("platform.yaml")
        .replace("to: 80 %, over: 1 s", "to: 60 %, over: 1 s")
        .replace("1300 ms", "1500 ms")
        .replace("attiny2313a", "attiny4313");
    desk.write("next.yaml", &changed);
    let whole = desk.run("diff light.yaml next.yaml");
    assert!(whole.out.contains("night:") && whole.out.contains("warning:"));
    let one = desk.run("diff light.yaml next.yaml --pattern night");
    assert_eq!(one.status, 1);
    assert!(one.out.contains("night:"), "{}", one.out);
    assert!(!one.out.contains("warning:") && !one.out.contains("ATtiny4313"));
    let two = desk.run("diff light.yaml next.yaml -p night -p warning --quiet");
    assert_eq!(two.status, 1);
    assert!(two.out.contains("2 patterns changed"), "{}", two.out);
    let none = desk.run("diff light.yaml next.yaml --pattern candles");
    assert_eq!(none.status, 0);
    assert!(none.out.contains("Of candles, nothing differs."));
    let unknown = desk.run("diff light.yaml next.yaml --pattern morning");
    insta::assert_snapshot!("diff_of_an_unknown_pattern", unknown.shown());
}

#[test]
fn a_revision_comes_with_its_libraries() {
    let desk = repository();
    let answer = desk.run("diff HEAD:lights/halt.yaml lights/halt.yaml");
    insta::assert_snapshot!("diff_of_a_revision", answer.shown());
    assert_eq!(
        desk.run("diff HEAD:lights/halt.yaml HEAD:lights/halt.yaml")
            .status,
        0
    );
}

#[test]
fn paths_are_from_the_top_or_from_where_one_stands_as_git_has_it() {
    let desk = repository();
    let from = |folder: &str, path: &str, file: &str| {
        let mut command = desk.command(&format!("diff HEAD:{path} {file}"));
        Answer::of(command.current_dir(desk.path(folder)))
    };
    for (folder, path, file) in [
        ("lights", "lights/halt.yaml", "halt.yaml"),
        ("lights", "./halt.yaml", "halt.yaml"),
        ("shared", "../lights/halt.yaml", "../lights/halt.yaml"),
    ] {
        let answer = from(folder, path, file);
        assert_eq!(answer.status, 1, "{path}: {}", answer.err);
        assert!(answer.out.contains("1 pattern changed"), "{}", answer.out);
    }
    // Not from here, although git would find it from the top of nothing.
    let answer = from("lights", "halt.yaml", "halt.yaml");
    assert!(answer.err.contains("error[S001]"), "{}", answer.shown());
}

#[test]
fn formats() {
    let desk = repository();
    let markdown = desk.run("diff HEAD:lights/halt.yaml lights/halt.yaml --format markdown");
    assert!(
        markdown
            .out
            .starts_with("## Light: `HEAD:lights/halt.yaml` → `lights/halt.yaml`\n")
    );
    let json = desk.run("diff HEAD:lights/halt.yaml lights/halt.yaml --format json");
    let data: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
    assert_eq!(data["patterns"][0]["name"], "dusk");
    assert_eq!(data["light_differs"], true);
}

#[test]
fn what_cannot_be_compared_is_named() {
    let desk = repository();
    for (name, arguments) in [
        (
            "diff_no_such_revision",
            "diff v9:lights/halt.yaml lights/halt.yaml",
        ),
        (
            "diff_no_such_path",
            "diff HEAD:lights/hlat.yaml lights/halt.yaml",
        ),
        (
            "diff_no_such_file",
            "diff HEAD:lights/halt.yaml lights/hlat.yaml",
        ),
    ] {
        insta::assert_snapshot!(name, desk.run(arguments).shown());
    }
    let lost = Answer::of(
        desk.command("diff HEAD:lights/halt.yaml lights/halt.yaml")
            .env("PATH", ""),
    );
    assert_eq!(lost.status, 3, "{}", lost.err);
}
