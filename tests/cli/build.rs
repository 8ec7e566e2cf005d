//! `build`: what is written where, and what is left alone.

use std::fs;
use std::process::Command;
use std::time::SystemTime;

use crate::cli::support::{Answer, Desk, scenario};

fn desk() -> Desk {
    Desk::with(&scenario("platform.yaml"))
}

const FOLDER: &str = "out/platform";

fn times(desk: &Desk) -> Vec<SystemTime> {
    let time = |name: String| {
        let file = fs::metadata(desk.path(FOLDER).join(name)).expect("a file");
        file.modified().expect("a time")
    };
    desk.list(FOLDER).into_iter().map(time).collect()
}

#[test]
fn a_build_writes_its_folder_and_says_so() {
    let desk = desk();
    insta::assert_snapshot!("build", desk.run("build light.yaml").shown());
    insta::assert_debug_snapshot!("what_build_writes", desk.list(FOLDER));
    insta::assert_snapshot!(
        "the_timeline_beside_the_firmware",
        desk.read("out/platform/timeline.txt")
    );
}

#[test]
fn a_second_build_touches_nothing() {
    let desk = desk();
    desk.run("build light.yaml");
    let before = times(&desk);
    insta::assert_snapshot!("build_again", desk.run("build light.yaml").shown());
    assert_eq!(times(&desk), before);
}

#[test]
fn two_builds_are_the_same_bytes() {
    let desk = desk();
    desk.run("build light.yaml --out one");
    desk.run("build light.yaml --out two");
    assert_eq!(desk.list("one"), desk.list("two"));
    for name in desk.list("one") {
        assert_eq!(
            desk.read(&format!("one/{name}")),
            desk.read(&format!("two/{name}")),
            "{name}"
        );
    }
}

#[test]
fn a_changed_project_replaces_what_was_generated() {
    let desk = desk();
    desk.run("build light.yaml");
    let tables = desk.read("out/platform/tables.S");
    desk.write(
        "light.yaml",
        &scenario("platform.yaml").replace("80 %, over", "60 %, over"),
    );
    let answer = desk.run("build light.yaml");
    assert_eq!(answer.status, 0, "{}", answer.err);
    assert_ne!(desk.read("out/platform/tables.S"), tables);
}

#[test]
fn what_a_person_changed_is_kept_until_they_say_otherwise() {
    let desk = desk();
    desk.run("build light.yaml");
    desk.write("out/platform/main.c", "/* mine */");
    desk.write(
        "light.yaml",
        &scenario("platform.yaml").replace("80 %, over", "60 %, over"),
    );
    let tables = desk.read("out/platform/tables.S");
    insta::assert_snapshot!(
        "build_over_an_edited_file",
        desk.run("build light.yaml").shown()
    );
    assert_eq!(desk.read("out/platform/main.c"), "/* mine */");
    assert_eq!(desk.read("out/platform/tables.S"), tables, "all or nothing");
    assert_eq!(desk.run("build light.yaml --force").status, 0);
    assert_ne!(desk.read("out/platform/main.c"), "/* mine */");
}

#[test]
fn a_file_that_was_never_generated_is_not_overwritten_either() {
    let desk = desk();
    desk.write("firmware/main.c", "int main(void) { return 0; }");
    let answer = desk.run("build light.yaml --out firmware");
    assert_eq!(answer.status, 1);
    assert_eq!(desk.list("firmware"), ["main.c"]);
}

#[test]
fn files_that_are_no_longer_generated_go_unless_they_were_changed() {
    let desk = desk();
    desk.run("build light.yaml");
    desk.write("out/platform/pwm.S", "; mine");
    desk.write("out/platform/notes.txt", "mine too");
    insta::assert_snapshot!(
        "player_only_after_all",
        desk.run("build light.yaml --player-only").shown()
    );
    assert_eq!(
        desk.list(FOLDER),
        [
            "checksums.sha256",
            "light.h",
            "notes.txt",
            "player.S",
            "pwm.S",
            "tables.S",
            "timeline.txt"
        ]
    );
}

#[test]
fn a_list_of_checksums_cannot_reach_outside_its_folder() {
    let desk = desk();
    desk.write("out/kept.txt", "kept");
    // The checksum of "kept".
    let sum = "79f076abdd19a752db7267bfff2f9022161d120dea919fdaca2ffdfc24ca8c96";
    desk.write(
        "out/platform/checksums.sha256",
        &format!("{sum}  ../kept.txt\n"),
    );
    desk.run("build light.yaml");
    assert_eq!(desk.read("out/kept.txt"), "kept");
}

#[test]
fn check_writes_nothing_and_names_what_differs() {
    let desk = desk();
    assert_eq!(desk.run("build light.yaml --check").status, 1);
    assert!(desk.list("out").is_empty());
    desk.run("build light.yaml");
    insta::assert_snapshot!(
        "check_of_what_is_up_to_date",
        desk.run("build light.yaml --check").shown()
    );

    desk.write("out/platform/main.c", "/* mine */");
    fs::remove_file(desk.path("out/platform/light.h")).expect("it is there");
    let before = times(&desk);
    insta::assert_snapshot!(
        "check_of_what_is_not",
        desk.run("build light.yaml --check").shown()
    );
    assert_eq!(times(&desk), before);

    let desk = self::desk();
    desk.run("build light.yaml");
    let left = desk.run("build light.yaml --check --player-only");
    assert!(
        left.err.contains("out/platform/main.c is left over"),
        "{}",
        left.err
    );
}

#[test]
fn quiet_says_nothing_when_all_is_well() {
    let desk = desk();
    for command in [
        "build light.yaml -q",
        "build light.yaml -q --check",
        "budget light.yaml -q",
        "budget light.yaml -q --format json",
        "diff light.yaml light.yaml -q",
    ] {
        assert_eq!(desk.run(command).shown(), "status 0\n");
    }
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let desk = desk();
    desk.write("out", "a file where a folder should be");
    insta::assert_snapshot!("build_into_a_file", desk.run("build light.yaml").shown());
}

#[test]
fn a_wrong_project_writes_nothing() {
    let desk = Desk::with(&scenario("platform.yaml").replace("PD5", "PA2"));
    insta::assert_snapshot!(
        "build_of_a_wrong_project",
        desk.run("build light.yaml").shown()
    );
    assert_eq!(desk.list("."), ["light.yaml"]);
}

#[test]
fn scripts_get_the_files_and_the_budget() {
    let desk = desk();
    let build = |arguments: &str| -> serde_json::Value {
        let answer = desk.run(&format!("build light.yaml --format json {arguments}"));
        serde_json::from_str(&answer.out).unwrap_or_else(|_| panic!("{}", answer.shown()))
    };
    let first = build("");
    assert_eq!(first["folder"], "out/platform");
    let files = first["files"].as_array().expect("files");
    assert_eq!(
        files.len(),
        desk.list(FOLDER).len() - 1,
        "all but the checksums"
    );
    assert!(files.iter().all(|file| file["fate"] == "wrote"));
    assert_eq!(first["budget"]["verdict"], "fits");
    let second = build("--check");
    let files = second["files"].as_array().expect("files");
    assert!(files.iter().all(|file| file["fate"] == "unchanged"));
    let player = build("--player-only");
    assert!(player.get("budget").is_none());
    let files = player["files"].as_array().expect("files");
    assert!(
        files
            .iter()
            .any(|file| file["path"] == "main.c" && file["fate"] == "removed")
    );
}

#[test]
fn make_builds_anew_when_a_library_changes_and_only_then() {
    let desk = Desk::new();
    desk.write(
        "my lights/halt.yaml",
        "chip: attiny13a\nchannels: [lamp]\nuse: shades.yaml\n\
         patterns:\n  dusk:\n    tracks: [{channels: lamp, play: shade}]\n",
    );
    let shade = |level: u32| {
        format!(
            "patterns: {{shade: [{{to: {level} %, over: 1 s}}, {{hold: 1 s}}, {{set: 5 %, hold: 1 s}}]}}\n"
        )
    };
    desk.write("my lights/shades.yaml", &shade(80));
    desk.write(
        "Makefile",
        "out/halt/tables.S:\n\t$(TOOL) build 'my lights/halt.yaml' -q --depfile halt.d\n\t@echo built\n\
         -include halt.d\n",
    );
    let make = || {
        let output = Command::new("make")
            .args(["--silent", "out/halt/tables.S"])
            .env("TOOL", env!("CARGO_BIN_EXE_duskloom"))
            .current_dir(desk.path(""))
            .output();
        let output = output.expect("make runs");
        assert!(output.status.success(), "{output:?}");
        String::from_utf8_lossy(&output.stdout).contains("built")
    };
    assert!(make());
    insta::assert_snapshot!("depfile", desk.read("halt.d"));
    assert!(!make());
    std::thread::sleep(std::time::Duration::from_millis(20));
    desk.write("my lights/shades.yaml", &shade(60));
    assert!(make());
    assert!(!make());
    // An edit that changes nothing is built once, too.
    std::thread::sleep(std::time::Duration::from_millis(20));
    desk.write(
        "my lights/shades.yaml",
        &format!("# Shades.\n{}", shade(60)),
    );
    assert!(make());
    assert!(!make());
}

/// Ninja's manual, 'Build statements' and 'Depfile'.
#[test_with::executable("ninja")]
#[test]
fn ninja_builds_anew_when_the_project_changes_and_only_then() {
    let desk = desk();
    desk.write(
        "build.ninja",
        &format!(
            "rule light\n  command = {} build $in -q --depfile $out.d\n  depfile = $out.d\n\
             build out/platform/tables.S: light light.yaml\n",
            env!("CARGO_BIN_EXE_duskloom")
        ),
    );
    let ninja = || {
        let output = Command::new("ninja").current_dir(desk.path("")).output();
        let output = output.expect("ninja runs");
        assert!(output.status.success(), "{output:?}");
        !String::from_utf8_lossy(&output.stdout).contains("no work to do")
    };
    // Files carry the time of the kernel's tick: an edit in the same one would not be newer.
    let edit = |text: &str| {
        std::thread::sleep(std::time::Duration::from_millis(20));
        desk.write("light.yaml", text);
    };
    assert!(ninja());
    assert!(!ninja());
    edit(&format!("# A platform.\n{}", scenario("platform.yaml")));
    assert!(ninja());
    assert!(!ninja());
    edit(&scenario("platform.yaml").replace("70 %", "60 %"));
    assert!(ninja());
    assert!(!ninja());
}

#[test]
fn scripts_get_what_is_wrong_as_data() {
    let desk = desk();
    let answer = desk.run("build light.yaml --check --format json");
    let data: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    assert_eq!((answer.status, &data["up_to_date"]), (1, &false.into()));
    assert_eq!(data["files"][0]["fate"], "missing");
    desk.run("build light.yaml");
    let answer = desk.run("build light.yaml --check --format json");
    let data: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    assert_eq!((answer.status, &data["up_to_date"]), (0, &true.into()));

    desk.write(
        "light.yaml",
        "chip: attiny13a\nchannels: 1\npatterns: {x: [{hodl: 1 s}]}\n",
    );
    for command in ["build", "budget", "wiring"] {
        let answer = desk.run(&format!("{command} light.yaml --format json"));
        let data: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
        assert_eq!((answer.status, answer.err.as_str()), (1, ""), "{command}");
        let one = &data["diagnostics"][0];
        assert_eq!(
            (&one["severity"], &one["file"], &one["line"], &one["column"]),
            (&"error".into(), &"light.yaml".into(), &3.into(), &17.into()),
            "{data}"
        );
        for key in ["code", "message", "label"] {
            assert!(one[key].is_string(), "{key}: {one}");
        }
        let span = [one["span"]["start"].as_u64(), one["span"]["end"].as_u64()];
        let [start, end] = span.map(|at| at.expect("a byte") as usize);
        assert_eq!(&desk.read("light.yaml")[start..end], "hodl");
    }
    let answer = desk.run("build light.yaml --out light.yaml/x --format json");
    assert!(answer.out.starts_with('{'), "{}", answer.shown());
}

#[cfg(unix)]
#[test]
fn a_list_of_checksums_cannot_reach_through_a_link() {
    use std::os::unix::fs::symlink;
    let desk = desk();
    desk.write("elsewhere/kept.txt", "kept");
    desk.run("build light.yaml");
    symlink(desk.path("elsewhere"), desk.path("out/platform/way")).expect("a link");
    symlink(
        desk.path("elsewhere/kept.txt"),
        desk.path("out/platform/link.txt"),
    )
    .expect("a link");
    let sum = "79f076abdd19a752db7267bfff2f9022161d120dea919fdaca2ffdfc24ca8c96";
    let kept = desk.path("elsewhere/kept.txt");
    let list = desk.read("out/platform/checksums.sha256");
    desk.write(
        "out/platform/checksums.sha256",
        &format!(
            "{list}{sum}  way/kept.txt\n{sum}  link.txt\n{sum}  {}\n",
            kept.display()
        ),
    );
    desk.write(
        "light.yaml",
        &format!("{}\nwatchdog: 1 s\n", scenario("platform.yaml")),
    );
    desk.run("build light.yaml");
    assert_eq!(desk.read("elsewhere/kept.txt"), "kept");
    assert!(desk.path("out/platform/link.txt").is_symlink());

    // Nor does a build write through one.
    symlink(desk.path("elsewhere"), desk.path("rust-link")).expect("a link");
    desk.write("crate/Cargo.toml", "");
    symlink(desk.path("elsewhere"), desk.path("crate/src")).expect("a link");
    let answer = desk.run("build light.yaml --to rust --out crate --force");
    assert_eq!(answer.status, 1, "{}", answer.shown());
    assert_eq!(desk.list("elsewhere"), ["kept.txt"]);
}

#[cfg(unix)]
#[test]
fn a_pipe_as_a_library_does_not_keep_us_waiting() {
    let desk = Desk::with(
        "chip: attiny13a\nchannels: 1\nuse: [pipe.yaml, /dev/zero, folder]\npatterns: {x: [{hold: 1 s}]}\n",
    );
    desk.write("folder/x", "");
    let made = Command::new("mkfifo").arg(desk.path("pipe.yaml")).status();
    assert!(made.expect("mkfifo runs").success());
    let said = desk.run("build light.yaml").err;
    for what in [
        "pipe.yaml is a pipe or a device",
        "/dev/zero is a pipe or a device",
        "folder is a folder",
    ] {
        assert!(said.contains(what), "{what}: {said}");
    }
}

#[test]
fn of_two_builds_at_once_one_wins_whole() {
    let desk = desk();
    let other = format!("{}\nwatchdog: 1 s\n", scenario("platform.yaml"));
    desk.write("other.yaml", &other);
    for _ in 0..4 {
        let build = |file: &str| {
            let mut command = desk.command(&format!("build {file} -q --out both"));
            command.spawn().expect("the tool runs")
        };
        let builds = [
            build("light.yaml"),
            build("other.yaml"),
            build("light.yaml"),
        ];
        for mut one in builds {
            assert!(one.wait().expect("it ends").success());
        }
        let same = |file| desk.run(&format!("build {file} --out both --check")).status == 0;
        assert!(same("light.yaml") != same("other.yaml"));
    }
}

/// However early or late the signal comes, the folder is as before or as it should be.
#[cfg(unix)]
#[test]
fn an_interrupted_build_leaves_nothing_behind() {
    let desk = desk();
    for delay in [0, 5, 20, 40, 80, 120, 160, 200, 300] {
        let _ = fs::remove_dir_all(desk.path("out"));
        let mut build = desk
            .command("build light.yaml -q")
            .spawn()
            .expect("it runs");
        std::thread::sleep(std::time::Duration::from_millis(delay));
        let id = build.id().to_string();
        let _ = Command::new("kill").args(["-INT", &id]).output();
        build.wait().expect("it ends");
        let there = desk.list("out/platform");
        if !there.is_empty() {
            let check = desk.run("build light.yaml --check");
            assert_eq!(check.status, 0, "after {delay} ms: {there:?}");
        }
        assert!(there.iter().all(|name| !name.starts_with('.')), "{there:?}");
    }
}

#[test]
fn what_a_killed_build_was_writing_is_cleared_away() {
    let desk = desk();
    desk.write("out/platform/.writing-x1", "half");
    desk.run("build light.yaml");
    assert!(!desk.path("out/platform/.writing-x1").exists());
}

#[test]
fn a_depfile_that_could_not_be_read_is_refused_before_anything_is_written() {
    let desk = desk();
    let answer = Answer::of(
        desk.command("build light.yaml --depfile light.d --out")
            .arg("out\n\tid"),
    );
    assert_eq!(answer.status, 1, "{}", answer.shown());
    assert!(!desk.path("light.d").exists());
    assert!(!desk.path("out\n\tid").exists());
}

#[test]
fn a_depfile_never_takes_the_place_of_a_project() {
    let desk = desk();
    let answer = desk.run("build light.yaml --depfile light.yaml");
    assert_eq!(answer.status, 1, "{}", answer.shown());
    assert_eq!(desk.read("light.yaml"), scenario("platform.yaml"));
}
