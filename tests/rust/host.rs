//! The crate on the machine that runs the tests: what its reader, rustfmt, clippy and its own tests
//! say of it.

use std::process::Command;

use duskloom::emit::rust;

use crate::rust::support::{cargo, design, folder, projects, run};

#[test]
fn every_file_is_formatted() {
    for project in projects() {
        let design = design(&project);
        let name = format!("formatted-{}", design.project.name.value);
        let folder = folder(&name, &rust::firmware(&design));
        for file in [
            "src/lib.rs",
            "tests/frames.rs",
            "tests/outputs.rs",
            "firmware/src/main.rs",
        ] {
            let mut rustfmt = Command::new("rustfmt");
            run(
                rustfmt.args(["--check", "--edition", "2024", file]),
                &folder,
            );
        }
    }
}

/// The crate's own tests compare it with frames of the model.
#[test]
fn clippy_has_nothing_to_say_and_the_crate_s_own_tests_pass() {
    for project in projects() {
        let design = design(&project);
        let name = format!("host-{}", design.project.name.value);
        let folder = folder(&name, &rust::player(&design));
        let clippy = [
            "clippy",
            "--quiet",
            "--all-targets",
            "--",
            "--deny",
            "warnings",
        ];
        let mut command = cargo(&clippy[..3]);
        run(command.args(&clippy[3..]), &folder);
        let scenes = design.deck.image.score.scenes.len();
        let said = run(&mut cargo(&["test"]), &folder);
        let passed = format!("test result: ok. {scenes} passed");
        assert!(said.contains(&passed), "{passed}, not:\n{said}");
    }
}

/// Whoever does not want it is not made to have it.
#[test]
fn it_needs_nothing_without_its_default_feature() {
    let project = projects().remove(0);
    let design = design(&project);
    let folder = folder("alone", &rust::player(&design));
    run(
        &mut cargo(&["check", "--quiet", "--no-default-features"]),
        &folder,
    );
    let tree = run(&mut cargo(&["tree", "--no-default-features"]), &folder);
    assert_eq!(tree.lines().count(), 1, "{tree}");
}
