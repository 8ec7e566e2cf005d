//! From a project to a design whose work fits its tick: all stages, and as often again as a tick must
//! grow.

use std::path::Path;

use crate::budget::strain;
use crate::design::Design;
use crate::diagnostic::{Diagnostic, Report};
use crate::firmware::before_tables;
use crate::plan::Plan;
use crate::spec::{self, Project};
use crate::units::{Bytes, Time};

/// So often is a tick made longer for its work, which grows a little with it.
const LONGER_TICKS: usize = 4;

/// Where addresses no longer fit a byte.
const BEYOND_A_BYTE: Bytes = Bytes(256);

impl Design {
    /// Reads the project at `path` and takes it through all stages.
    ///
    /// # Errors
    /// All that is wrong with it, from the first stage that finds anything.
    pub fn read(path: &Path) -> Result<Self, Report> {
        Self::reported(spec::read(path)?, Self::new)
    }

    /// Takes a project through `stages`, with what they find about its files.
    ///
    /// # Errors
    /// A report of what `stages` find wrong.
    pub fn reported(
        project: Project,
        stages: impl FnOnce(Project) -> Result<Self, Vec<Diagnostic>>,
    ) -> Result<Self, Report> {
        let sources = project.sources.clone();
        stages(project).map_err(|errors| Report::of(sources, errors))
    }

    /// Takes a project through all stages up to the bytes of its tables.
    ///
    /// # Errors
    /// What is wrong with it, from the first stage that finds anything.
    pub fn new(project: Project) -> Result<Self, Vec<Diagnostic>> {
        with_tables_after(project, before_tables)
    }

    /// The same for tables and player within a program of the person's own, where the tables may
    /// lie anywhere in flash.
    ///
    /// # Errors
    /// What is wrong with it, from the first stage that finds anything.
    pub fn embedded(project: Project) -> Result<Self, Vec<Diagnostic>> {
        with_tables_after(project, |_| BEYOND_A_BYTE)
    }
}

fn with_tables_after(
    project: Project,
    before: impl Fn(&Plan) -> Bytes,
) -> Result<Design, Vec<Diagnostic>> {
    let mut design = Design::with_tick_of(project, Time(0), &before)?;
    let mut found = strain(&design);
    for _ in 0..LONGER_TICKS {
        let Some(longer) = found.longer else {
            break;
        };
        let longer = Design::with_tick_of(design.project.clone(), longer, &before);
        let Ok(longer) = longer else { break };
        design = longer;
        found = strain(&design);
    }
    design.firmware.dark_first = found.is_late;
    Ok(design)
}
