//! Wrong projects and what is said about them: `tests/wrong/*.yaml`, each with a snapshot.

use std::path::Path;

use duskloom::{diagnostic, spec};

#[test]
fn each_wrong_project_is_answered_with_its_report() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("wrong/snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.add_filter(r"[^\s]*/tests/wrong/", "");
    settings.bind(|| {
        insta::glob!("wrong/*.yaml", |path| {
            let report = spec::read(path).expect_err("a wrong project must not be accepted");
            insta::assert_snapshot!("report", diagnostic::render(&report, false));
        });
    });
}

#[test]
fn a_project_file_that_does_not_exist_is_named() {
    let report = spec::read(Path::new("no/such/project.yaml")).expect_err("there is no file");
    let text = diagnostic::render(&report, false);
    assert!(
        text.contains("S001") && text.contains("no/such/project.yaml"),
        "{text}"
    );
}

#[test]
fn colour_changes_nothing_but_colour() {
    let path = Path::new(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/wrong/ease-unknown.yaml"
    ));
    let report = spec::read(path).expect_err("a wrong project");
    let coloured = diagnostic::render(&report, true);
    assert!(coloured.contains('\u{1b}'));
    let mut plain = String::new();
    let mut within_escape = false;
    for c in coloured.chars() {
        match c {
            '\u{1b}' => within_escape = true,
            'm' if within_escape => within_escape = false,
            _ if within_escape => {}
            _ => plain.push(c),
        }
    }
    assert_eq!(plain, diagnostic::render(&report, false));
}
