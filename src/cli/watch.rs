//! Looks after the files of a project.

use std::fs;
use std::path::PathBuf;
use std::thread;
use std::time::{Duration, SystemTime};

use duskloom::design::Design;
use duskloom::diagnostic::{self, Sources};
use duskloom::live::Outlook;

use super::project::ProjectFile;

/// From one look to the next. Files are looked at, not listened to: that works on every file system.
const LOOK: Duration = Duration::from_millis(150);
/// An editor may write a file in several goes.
const SETTLE: Duration = Duration::from_millis(40);

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
