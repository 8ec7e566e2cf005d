//! Projects that only their chip refuses, or has a caution about: `tests/wrong/plan/*.yaml`, each with a snapshot.

use duskloom::design::Design;
use duskloom::diagnostic::{self, Report};
use duskloom::spec;

#[test]
fn each_project_that_asks_too_much_of_its_chip_is_answered_with_a_report() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("wrong/plan/snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.add_filter(r"[^\s]*/tests/wrong/plan/", "");
    settings.bind(|| {
        insta::glob!("wrong/plan/*.yaml", |path| {
            let project = spec::read(path)
                .unwrap_or_else(|report| panic!("{}", diagnostic::render(&report, false)));
            let mut report = Report::new(project.sources.clone());
            match Design::new(project) {
                Err(errors) => errors.into_iter().for_each(|error| report.push(error)),
                Ok(design) => design
                    .plan
                    .cautions
                    .into_iter()
                    .for_each(|caution| report.push(caution)),
            }
            assert!(
                !report.diagnostics.is_empty(),
                "nothing is said of {path:?}"
            );
            insta::assert_snapshot!("report", diagnostic::render(&report.sorted(), false));
        });
    });
}
