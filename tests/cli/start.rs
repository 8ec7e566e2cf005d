//! `new`: a project to start from.

use crate::cli::support::Desk;

#[test]
fn a_new_project_can_be_looked_at_and_built_as_it_is() {
    let desk = Desk::new();
    let new = desk.run("new porch");
    insta::assert_snapshot!("new", new.shown());
    insta::assert_snapshot!("the_project_that_new_writes", desk.read("porch.yaml"));
    for command in ["preview", "curve", "budget", "wiring", "build"] {
        let answer = desk.run(&format!("{command} porch.yaml"));
        assert_eq!((answer.status, answer.err.as_str()), (0, ""), "{command}");
    }
    assert!(desk.path("out/porch/main.c").exists());
}

#[test]
fn new_does_not_overwrite() {
    let desk = Desk::new();
    desk.write("porch.yaml", "mine");
    let answer = desk.run("new porch");
    insta::assert_snapshot!("new_where_a_file_is", answer.shown());
    assert_eq!(desk.read("porch.yaml"), "mine");
}

#[test]
fn a_name_that_projects_cannot_have_is_refused() {
    let desk = Desk::new();
    for name in [
        "Porch",
        "../porch",
        "all",
        "9-lights",
        "a.yaml",
        "porch/light",
    ] {
        assert_eq!(desk.run(&format!("new {name}")).status, 2, "{name}");
    }
    assert!(desk.list(".").is_empty());
    insta::assert_snapshot!("new_with_a_wrong_name", desk.run("new Porch").shown());
}

/// The generated C is what the person came for: it compiles without a warning.
#[test_with::executable("avr-gcc")]
#[test]
fn a_new_project_compiles() {
    let desk = Desk::new();
    assert_eq!(desk.run("new porch").status, 0);
    assert_eq!(desk.run("build porch.yaml --quiet").status, 0);
    desk.compile("out/porch");
    assert!(desk.path("out/porch/porch.hex").exists());
}

/// Pins that exist, and no more than fits.
#[test]
fn a_new_project_suits_any_chip() {
    for chip in duskloom::chip::all() {
        let desk = Desk::new();
        let new = desk.run(&format!("new porch --chip {}", chip.name));
        assert_eq!(new.status, 0, "{}", new.shown());
        let budget = desk.run("budget porch.yaml");
        assert_eq!(budget.status, 0, "{}: {}", chip.name, budget.shown());
    }
    let unknown = Desk::new().run("new porch --chip attiny86");
    insta::assert_snapshot!("new_for_an_unknown_chip", unknown.shown());
}
