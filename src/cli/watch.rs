//! Looks after the files of a project.

use std::fs;
use std::path::PathBuf;
use std::thread;
use std::time::{Duration, SystemTime};

use duskloom::design::Design;
use duskloom::diagnostic::{self, Sources};
use duskloom::escape;
use duskloom::live::Outlook;

use clap::Args;

use super::failure::Failure;
use super::project::ProjectFile;
use super::screen;

/// From one look to the next. Files are looked at, not listened to: that works on every file system.
const LOOK: Duration = Duration::from_millis(150);
/// An editor may write a file in several goes.
const SETTLE: Duration = Duration::from_millis(40);

/// Whether to look again at each save.
#[derive(Debug, Args)]
pub(super) struct Again {
    /// Show it again each time a file of the project is saved
    #[arg(long)]
    pub watch: bool,
}

/// Shows a project, and again each time one of its files is saved, until it is interrupted.
///
/// # Errors
/// Nobody reads any more. All else is said, and the next version may be right.
pub(super) fn again(
    project: &ProjectFile,
    show: impl Fn(&Design) -> Result<(), Failure>,
) -> Result<(), Failure> {
    let mut result = project.attempt().map_err(|report| {
        let text = diagnostic::render(&report, true);
        (text, report.sources)
    });
    let sources = match &result {
        Ok(design) => design.project.sources.clone(),
        Err((_, sources)) => sources.clone(),
    };
    let mut watch = Watch::new(project, &sources);
    loop {
        screen::clear();
        match result {
            Ok(design) => show(&design).or_else(say)?,
            Err((text, _)) => screen::complain(&text),
        }
        let path = project.path().display().to_string();
        screen::complain(&format!("watching {}\n", escape::line(&path)));
        result = watch.next().map_err(|text| (text, sources.clone()));
    }
}

/// What goes wrong with one version may be right with the next; only a reader who has gone away
/// ends the watch.
fn say(failure: Failure) -> Result<(), Failure> {
    match failure {
        Failure::Unread => Err(failure),
        failure => {
            screen::complain(&failure.to_string());
            Ok(())
        }
    }
}

/// The files of a project, as they were last seen.
pub(super) struct Watch<'p> {
    project: &'p ProjectFile,
    seen: Vec<(PathBuf, Stamp)>,
}

/// What tells that a file has changed; `None`: there is no such file.
type Stamp = Option<(SystemTime, u64)>;

impl<'p> Watch<'p> {
    /// Watches a project that was read from these files.
    pub(super) fn new(project: &'p ProjectFile, sources: &Sources) -> Self {
        let mut watch = Self {
            project,
            seen: Vec::new(),
        };
        watch.see(sources);
        watch
    }

    /// Waits until a file changes; returns the project anew, or what is wrong with it.
    pub(super) fn next(&mut self) -> Result<Design, String> {
        loop {
            thread::sleep(LOOK);
            if let Some(result) = self.changed() {
                return result;
            }
        }
    }

    fn see(&mut self, sources: &Sources) {
        let mut paths = vec![self.project.path().to_path_buf()];
        paths.extend(sources.iter().map(|source| source.path.clone()));
        self.seen = paths
            .into_iter()
            .map(|path| {
                let stamp = stamp(&path);
                (path, stamp)
            })
            .collect();
    }
}

impl Outlook for Watch<'_> {
    fn changed(&mut self) -> Option<Result<Design, String>> {
        if self.seen.iter().all(|(path, was)| stamp(path) == *was) {
            return None;
        }
        thread::sleep(SETTLE);
        // Stamps come first: what is written while we read is seen the next time.
        let before: Vec<_> = self.seen.drain(..).map(|(path, _)| path).collect();
        let before: Vec<(PathBuf, Stamp)> = before
            .into_iter()
            .map(|path| {
                let stamp = stamp(&path);
                (path, stamp)
            })
            .collect();
        let result = self.project.attempt();
        let sources = match &result {
            Ok(design) => design.project.sources.clone(),
            Err(report) => report.sources.clone(),
        };
        self.see(&sources);
        for (path, stamp) in before {
            match self.seen.iter_mut().find(|(known, _)| *known == path) {
                Some(known) => known.1 = stamp,
                None => self.seen.push((path, stamp)),
            }
        }
        Some(result.map_err(|report| diagnostic::render(&report, false)))
    }
}

fn stamp(path: &PathBuf) -> Stamp {
    let file = fs::metadata(path).ok()?;
    Some((file.modified().ok()?, file.len()))
}

/// For a project that is not watched.
pub(super) struct Blind;

impl Outlook for Blind {
    fn changed(&mut self) -> Option<Result<Design, String>> {
        None
    }
}
