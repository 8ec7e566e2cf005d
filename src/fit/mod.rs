//! From a project to a design: all stages, and as often again as what comes of them says that the person
//! is better served otherwise. By a tick in which the work fits, and by a PWM that the LEDs follow.

pub(crate) mod pwm;
mod tick;

use std::path::Path;

use crate::design::Design;
use crate::diagnostic::{Diagnostic, Report};
use crate::firmware::before_tables;
use crate::plan::Plan;
use crate::spec::{self, Project};
use crate::units::Bytes;

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
    let design = tick::with_room(project, &before)?;
    Ok(pwm::weighed(design, &before))
}
