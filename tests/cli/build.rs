//! `build`: what is written where, and what is left alone.

use std::fs;
use std::time::SystemTime;

use crate::support::{Desk, scenario};

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
    for command in ["build light.yaml -q", "build light.yaml -q --check"] {
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
    let desk = Desk::with(&scenario("platform.yaml").replace("PD5", "PB7"));
    insta::assert_snapshot!(
        "build_of_a_wrong_project",
        desk.run("build light.yaml").shown()
    );
    assert_eq!(desk.list("."), ["light.yaml"]);
}
