//! All that `build` writes for a project.

use duskloom::board;
use duskloom::budget::{self, Verdict};
use duskloom::design::Design;
use duskloom::emit::SourceFile;
use duskloom::preview::{Glyphs, Style, View, timelines};

/// How timelines are drawn in a file.
const STYLE: Style = Style {
    width: 100,
    glyphs: Glyphs::Blocks,
};

/// What the firmware is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    /// A chip that does nothing else.
    Whole,
    /// A main program of the person's own.
    Player,
}

/// The files, in the order in which a person is told of them.
pub(super) fn all(
    design: &Design,
    sources: Vec<SourceFile>,
    verdict: Option<&Verdict>,
) -> Vec<SourceFile> {
    let mut files = sources;
    let mut push = |path: &str, text| {
        files.push(SourceFile {
            path: path.to_string(),
            text,
        });
    };
    if let Some(verdict) = verdict {
        let fits = budget::report(verdict, budget::Style { ascii: false });
        push("budget.txt", format!("{fits}\n{}", verdict.board.text()));
        push("wiring.txt", board::wiring(design, &verdict.board).text());
    }
    push("timeline.txt", timelines(design, &View::default(), &STYLE));
    files
}
