//! `--svg`: where pictures go.

use crate::cli::support::{Desk, scenario};

fn desk() -> Desk {
    Desk::with(&scenario("platform.yaml"))
}

#[test]
fn a_picture_is_written_and_written_anew() {
    let desk = desk();
    for (command, name) in [
        (
            "preview light.yaml --svg pictures/light.svg",
            "pictures/light.svg",
        ),
        ("curve light.yaml --svg curve.svg", "curve.svg"),
    ] {
        assert_eq!(desk.run(command).shown(), "status 0\n");
        let first = desk.read(name);
        assert!(first.starts_with("<svg "));
        assert_eq!(desk.run(command).shown(), "status 0\n");
        assert_eq!(desk.read(name), first);
    }
}

#[test]
fn a_picture_can_be_printed() {
    let printed = desk().run("curve light.yaml --svg -");
    assert!(printed.out.starts_with("<svg ") && printed.out.ends_with("</svg>\n"));
}

#[test]
fn a_picture_never_takes_the_place_of_something_else() {
    let desk = desk();
    insta::assert_snapshot!(
        "picture_over_a_project",
        desk.run("preview light.yaml --svg light.yaml").shown()
    );
    assert_eq!(desk.read("light.yaml"), scenario("platform.yaml"));
}
