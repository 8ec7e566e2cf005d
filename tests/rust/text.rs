//! What a person reads.

use std::path::Path;

use duskloom::emit::rust;

use crate::support::{design, projects};

#[test]
fn the_generated_source_of_a_small_project() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let design = design(&root.join("tests/rust/projects/weather-vane.yaml"));
    for file in rust::firmware(&design) {
        let name = file.path.replace(['/', '.'], "_");
        insta::assert_snapshot!(format!("small_{name}"), file.text);
    }
}

#[test]
fn no_line_is_too_long_and_none_ends_in_a_blank() {
    for project in projects() {
        for file in rust::firmware(&design(&project)) {
            for line in file.text.lines() {
                let place = format!("{}, {}: {line}", project.display(), file.path);
                // Rows of tables have their comments beside them.
                assert!(
                    line.chars().count() <= 110 || line.contains("// "),
                    "{place}"
                );
                assert_eq!(line, line.trim_end(), "{place}");
            }
            assert!(
                file.text.ends_with('\n') && !file.text.contains("\n\n\n"),
                "{}",
                file.path
            );
        }
    }
}

#[test]
fn the_same_project_is_the_same_text() {
    for project in projects() {
        assert_eq!(
            rust::firmware(&design(&project)),
            rust::firmware(&design(&project))
        );
    }
}
