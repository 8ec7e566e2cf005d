//! The project that most commands are about.

use std::path::{Path, PathBuf};

use clap::Args;

use duskloom::design::Design;
use duskloom::diagnostic::{Diagnostic, Report};
use duskloom::spec::{self, Project};

use super::failure::Failure;
use super::screen;

/// The project file.
#[derive(Debug, Args)]
pub(super) struct ProjectFile {
    /// The project file
    #[arg(value_name = "FILE")]
    path: PathBuf,
}

impl ProjectFile {
    /// Reads, plans and lowers the project; what the person should know although it can be built is
    /// said on the standard error.
    ///
    /// # Errors
    /// A report of what is wrong with it.
    pub(super) fn design(&self) -> Result<Design, Failure> {
        self.through(Design::new)
    }

    /// The same for tables and player in a program of the person's own.
    ///
    /// # Errors
    /// A report of what is wrong with it.
    pub(super) fn embedded(&self) -> Result<Design, Failure> {
        self.through(Design::embedded)
    }

    /// The file's name.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// As [`design`](Self::design), for who says by themselves what is wrong.
    ///
    /// # Errors
    /// A report of what is wrong with it.
    pub(super) fn attempt(&self) -> Result<Design, Report> {
        Design::read(&self.path)
    }

    fn through(
        &self,
        stages: impl Fn(Project) -> Result<Design, Vec<Diagnostic>>,
    ) -> Result<Design, Failure> {
        let design = spec::read(&self.path)
            .and_then(|project| Design::reported(project, stages))
            .map_err(Failure::Project)?;
        screen::cautions(design.cautions());
        Ok(design)
    }
}
