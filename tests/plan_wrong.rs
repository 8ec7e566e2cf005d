//! Projects that only their chip refuses: `tests/wrong/plan/*.yaml`, each with a snapshot.

use duskloom::design::Design;
use duskloom::diagnostic::{self, Report};
use duskloom::spec;

#[test]
fn each_project_that_its_chip_refuses_is_answered_with_its_report() {
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
            for error in Design::new(project).expect_err("a chip that refuses it") {
                report.push(error);
            }
            insta::assert_snapshot!("report", diagnostic::render(&report.sorted(), false));
        });
    });
}
