//! Boards that cannot be, and what is said of them: `tests/board/faults/*.yaml`, each with a snapshot.

use duskloom::circuit;
use duskloom::diagnostic::{Report, render};
use duskloom::plan::plan;
use duskloom::spec;

#[test]
fn each_faulty_board_is_answered_with_what_would_work() {
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("faults/snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.add_filter(r"[^\s]*/tests/board/faults/", "");
    settings.bind(|| {
        insta::glob!("faults/*.yaml", |path| {
            let project = spec::read(path).expect("what only the board refuses is read");
            let plan = plan(&project).expect("and planned");
            let (_, faults) = circuit::check(&project, &plan);
            assert!(!faults.is_empty(), "{}", path.display());
            let mut report = Report::new(project.sources.clone());
            faults.into_iter().for_each(|fault| report.push(fault));
            insta::assert_snapshot!("fault", render(&report, false));
        });
    });
}
