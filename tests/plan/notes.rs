//! What the planner says, and what is said of a project that can be built: `tests/plan/notes/*.yaml`,
//! each with a snapshot of its errors or cautions.

use std::collections::BTreeSet;

use duskloom::diagnostic::{Report, codes, render};
use duskloom::{design::Design, spec};

#[test]
fn each_project_is_answered() {
    let mut said = BTreeSet::new();
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("notes/snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.add_filter(r"[^\s]*/tests/plan/notes/", "");
    settings.bind(|| {
        insta::glob!("notes/*.yaml", |path| {
            let read = spec::read(path);
            let project = read.unwrap_or_else(|report| panic!("{}", render(&report, false)));
            let mut report = Report::new(project.sources.clone());
            let notes = match Design::new(project) {
                Ok(design) => {
                    let advice = design.advice().diagnostics;
                    design
                        .plan
                        .cautions
                        .iter()
                        .chain(advice.iter())
                        .cloned()
                        .collect()
                }
                Err(errors) => errors,
            };
            let codes = notes.iter().map(|note| note.code);
            said.extend(codes.filter(|code| code.starts_with('C')));
            notes.into_iter().for_each(|note| report.push(note));
            insta::assert_snapshot!(render(&report, false));
        });
    });
    let explained: BTreeSet<&str> = codes::all()
        .map(|entry| entry.code)
        .filter(|code| code.starts_with('C'))
        .collect();
    assert!(
        said.is_subset(&explained),
        "explain these: {:?}",
        said.difference(&explained)
    );
    let unsaid: Vec<_> = explained.difference(&said).collect();
    assert!(unsaid.is_empty(), "no project here gets these: {unsaid:?}");
}
