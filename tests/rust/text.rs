//! What a person reads.

use std::path::Path;

use duskloom::emit::rust;

use crate::rust::support::{design, projects};

#[test]
fn the_generated_source_of_a_small_project() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let design = design(root.join("tests/rust/projects/weather-vane.yaml"));
    for file in rust::firmware(&design) {
        let name = file.path.replace(['/', '.'], "_");
        insta::assert_snapshot!(format!("small_{name}"), file.text);
    }
}

#[test]
fn lines_and_blank_lines_are_no_longer_than_they_must_be() {
    for project in projects() {
        for file in rust::firmware(&design(&project)) {
            let place = format!("{}, {}", project.display(), file.path);
            for line in file.text.lines() {
                // What goes beyond is a name or a list of the person's.
                let listed = ["`", "# ", "branch ", "start "];
                let names = listed.iter().any(|one| line.trim_start().starts_with(one));
                assert!(names || line.chars().count() <= 160, "{place}: {line}");
                assert_eq!(line, line.trim_end(), "{place}");
            }
            assert!(file.text.ends_with('\n'), "{place}");
            assert!(!file.text.ends_with("\n\n"), "{place}");
            assert!(!file.text.contains("\n\n\n"), "{place}");
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
