//! What README.md says is true: its commands print what stands below them, and its projects build.
//!
//! `TRYCMD=overwrite cargo test --test it readme` writes the output anew.

use std::path::Path;

use crate::common::designs;
use duskloom::budget::{Judgement, budget};

const README: &str = include_str!("../README.md");

/// Blocks marked `console` are run; those marked `console,ignore` need what not everybody has.
#[test]
fn its_commands_print_what_it_quotes() {
    trycmd::TestCases::new()
        .register_bin("grep", Path::new("/usr/bin/grep"))
        .case("README.md");
}

/// Blocks marked `yaml` are whole projects.
#[test]
fn its_projects_build() {
    let projects: Vec<&str> = README
        .split("```yaml\n")
        .skip(1)
        .filter_map(|block| block.split_once("```"))
        .map(|(project, _)| project)
        .collect();
    assert!(!projects.is_empty());
    for text in projects {
        let design = designs::from_text("readme.yaml", text);
        let over: Vec<_> = budget(&design)
            .rows
            .into_iter()
            .filter(|row| row.verdict == Judgement::Over)
            .collect();
        assert!(over.is_empty(), "{over:#?}");
    }
}
