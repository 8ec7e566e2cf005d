//! All that `build` writes for a project.

use duskloom::budget::{self, Verdict};
use duskloom::design::Design;
use duskloom::emit::{Language, SourceFile};
use duskloom::preview::{Glyphs, Style, View, timelines};

/// How timelines are drawn in a file.
const STYLE: Style = Style {
    width: 100,
    glyphs: Glyphs::Blocks,
};

/// What the firmware is wanted for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// A chip that does nothing else.
    Whole,
    /// A main program of the person's own.
    Player,
}

/// The files, in the order in which a person is told of them.
pub fn all(
    design: &Design,
    language: Language,
    extent: Extent,
    verdict: Option<&Verdict>,
) -> Vec<SourceFile> {
    let mut files = match extent {
        Extent::Whole => language.firmware(design),
        Extent::Player => language.player(design),
    };
    if let Some(verdict) = verdict {
        files.push(SourceFile {
            path: "budget.txt".to_string(),
            text: budget::report(verdict, budget::Style { ascii: false }),
        });
    }
    files.push(SourceFile {
        path: "timeline.txt".to_string(),
        text: timelines(design, &View::default(), &STYLE),
    });
    files
}
