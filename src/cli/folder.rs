//! A folder of generated files, kept in step with what is generated, without ever losing what the
//! person changed in it.
//!
//! Next to the files lies a list of their checksums, in the form that `sha256sum -c` reads. A file
//! that has neither its new contents nor those of the list was changed by someone.

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io::{self, ErrorKind};
use std::path::{Component, Path, PathBuf};
use std::time::SystemTime;

use sha2::{Digest, Sha256};

use duskloom::diagnostic::Sources;
use duskloom::emit::SourceFile;

use super::calm::Calm;
use super::failure::Failure;
use super::file;

/// The list of checksums.
const LIST: &str = "checksums.sha256";

/// A folder, and the checksums of what was last generated in it. It is ours until it is dropped:
/// whoever builds into it at the same time comes before or after us.
pub(super) struct Folder {
    path: PathBuf,
    _lock: Option<File>,
    /// Paths within the folder, each with its checksum; two of one path after a run that was stopped.
    recorded: Sums,
}

type Sums = BTreeSet<(String, String)>;

/// What generating means for a file of the folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum State {
    /// It is as generated.
    Same,
    Missing,
    /// It is as it was generated before.
    Stale,
    /// Somebody changed it.
    Edited,
    /// It was generated before and is no longer.
    LeftOver,
    /// It is no longer generated, and somebody changed it.
    EditedLeftOver,
}

/// A file of the folder and its state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Entry {
    /// Within the folder.
    pub path: String,
    pub state: State,
}

impl Folder {
    /// The folder at `path`, to be written to; waits for whoever is writing to it. It is made
    /// unless it is there.
    ///
    /// # Errors
    /// It cannot be made, or its list of checksums cannot be read.
    pub(super) fn to_write(path: PathBuf) -> Result<Self, Failure> {
        fs::create_dir_all(&path)
            .map_err(|error| Failure::file("make the folder", &path, &error))?;
        let lock = lock(&path, File::lock)?;
        Self::open(path, lock)
    }

    /// The folder at `path`, which need not exist, to be looked at.
    ///
    /// # Errors
    /// Its list of checksums cannot be read.
    pub(super) fn to_read(path: PathBuf) -> Result<Self, Failure> {
        let lock = if path.is_dir() {
            lock(&path, File::lock_shared)?
        } else {
            None
        };
        Self::open(path, lock)
    }

    fn open(path: PathBuf, lock: Option<File>) -> Result<Self, Failure> {
        let list = read(&path.join(LIST))?.unwrap_or_default();
        let recorded = String::from_utf8_lossy(&list)
            .lines()
            .filter_map(|line| line.split_once("  "))
            .filter(|(_, name)| is_within(name) && link_before(&path, name).is_none())
            .map(|(sum, name)| (name.to_string(), sum.to_string()))
            .collect();
        Ok(Self {
            path,
            _lock: lock,
            recorded,
        })
    }

    /// Where a file of the folder is.
    pub(super) fn place(&self, name: &str) -> PathBuf {
        self.path.join(name)
    }

    /// What generating `files` means for each of them and for what was generated before, by name.
    ///
    /// # Errors
    /// A file cannot be read.
    pub(super) fn compare(&self, files: &[SourceFile]) -> Result<Vec<Entry>, Failure> {
        let wanted: BTreeMap<&str, &SourceFile> = files
            .iter()
            .map(|file| (file.path.as_str(), file))
            .collect();
        let names: BTreeSet<&str> = wanted
            .keys()
            .copied()
            .chain(self.recorded.iter().map(|(name, _)| name.as_str()))
            .collect();
        let mut entries = Vec::new();
        for name in names {
            if let Some(link) = link_before(&self.path, name) {
                let message = format!("{} is a link that leads elsewhere", link.display());
                return Err(Failure::world(message).hint("remove it, or build into another folder"));
            }
            let there = read(&self.place(name))?;
            let ours = there
                .as_ref()
                .is_some_and(|bytes| self.recorded.contains(&(name.to_string(), checksum(bytes))));
            let state = match (wanted.get(name), there) {
                (Some(_), None) => State::Missing,
                (Some(file), Some(bytes)) if file.text.as_bytes() == bytes => State::Same,
                (Some(_), Some(_)) if ours => State::Stale,
                (Some(_), Some(_)) => State::Edited,
                (None, None) => continue,
                // Links are never ours.
                (None, Some(_)) if ours && !self.place(name).is_symlink() => State::LeftOver,
                (None, Some(_)) => State::EditedLeftOver,
            };
            entries.push(Entry {
                path: name.to_string(),
                state,
            });
        }
        Ok(entries)
    }

    /// Makes the folder hold `files`: writes what is missing or differs, removes what is left over.
    /// What somebody changed is overwritten too, unless it is no longer generated; look first with
    /// [`compare`](Self::compare).
    ///
    /// # Errors
    /// A file cannot be written. Every file is then as it was, or as it should be.
    pub(super) fn update(
        &mut self,
        files: &[SourceFile],
        entries: &[Entry],
    ) -> Result<(), Failure> {
        let new: Sums = files
            .iter()
            .map(|file| (file.path.clone(), checksum(file.text.as_bytes())))
            .collect();
        let touched = |entry: &&Entry| !matches!(entry.state, State::Same | State::EditedLeftOver);
        if entries.iter().filter(touched).count() == 0 && self.recorded == new {
            return Ok(());
        }
        let _calm = Calm::new();
        self.clear(files);
        // If we are stopped half way, both what was and what is to be count as generated.
        let both = self.recorded.union(&new).cloned().collect();
        self.write(LIST, &list(&both))?;
        for entry in entries.iter().filter(touched) {
            match files.iter().find(|file| file.path == entry.path) {
                Some(file) => self.write(&file.path, &file.text)?,
                None => self.remove(&entry.path)?,
            }
        }
        self.write(LIST, &list(&new))?;
        self.recorded = new;
        Ok(())
    }

    /// Removes what an update was writing when it was killed.
    fn clear(&self, files: &[SourceFile]) {
        let homes: BTreeSet<PathBuf> = files
            .iter()
            .filter_map(|file| self.place(&file.path).parent().map(Path::to_path_buf))
            .collect();
        let entries = homes.iter().filter_map(|home| fs::read_dir(home).ok());
        for entry in entries.flatten().flatten() {
            let name = entry.file_name();
            if name.to_string_lossy().starts_with(file::UNFINISHED) {
                // In vain, at worst.
                let _ = fs::remove_file(entry.path());
            }
        }
    }

    /// Marks files that are the same, and older than what they were made from, as made now: Make and
    /// Ninja go by that.
    ///
    /// # Errors
    /// A file cannot be marked.
    pub(super) fn freshen(&self, entries: &[Entry], sources: &Sources) -> Result<(), Failure> {
        let changed = |path: &Path| fs::metadata(path).and_then(|file| file.modified()).ok();
        let newest = sources.iter().filter_map(|one| changed(&one.path)).max();
        let same = entries.iter().filter(|entry| entry.state == State::Same);
        for place in same.map(|entry| self.place(&entry.path)) {
            if changed(&place) < newest {
                File::options()
                    .append(true)
                    .open(&place)
                    .and_then(|file| file.set_modified(SystemTime::now()))
                    .map_err(|error| Failure::file("mark", &place, &error))?;
            }
        }
        Ok(())
    }

    fn write(&self, name: &str, text: &str) -> Result<(), Failure> {
        file::write_whole(&self.place(name), text)
    }

    fn remove(&self, name: &str) -> Result<(), Failure> {
        let place = self.place(name);
        fs::remove_file(&place).map_err(|error| Failure::file("remove", &place, &error))
    }
}

/// What `sha256sum -c` reads.
fn list(sums: &Sums) -> String {
    sums.iter()
        .map(|(name, sum)| format!("{sum}  {name}\n"))
        .collect()
}

fn checksum(bytes: &[u8]) -> String {
    format!("{:x}", Sha256::digest(bytes))
}

/// The bytes of a file; `None`: there is no such file.
fn read(path: &Path) -> Result<Option<Vec<u8>>, Failure> {
    file::read(path).map_err(|error| Failure::file("read", path, &error))
}

/// The first folder on the way to a file that is a link; what lies behind is not in the folder.
fn link_before(folder: &Path, name: &str) -> Option<PathBuf> {
    let above: Vec<&Path> = Path::new(name).ancestors().skip(1).collect();
    let ways = above.iter().rev().filter(|way| **way != Path::new(""));
    ways.map(|way| folder.join(way))
        .find(|way| way.is_symlink())
}

/// Holds a folder for us, where the system can; it is free again when the file is dropped, however
/// we end.
#[cfg(unix)]
fn lock(folder: &Path, take: impl Fn(&File) -> io::Result<()>) -> Result<Option<File>, Failure> {
    let fault = |error: io::Error| Failure::file("use the folder", folder, &error);
    let file = File::open(folder).map_err(fault)?;
    match take(&file) {
        Ok(()) => Ok(Some(file)),
        // Some network file systems know no locks.
        Err(error) if error.kind() == ErrorKind::Unsupported => Ok(None),
        Err(error) => Err(fault(error)),
    }
}

/// Folders cannot be opened here.
#[cfg(not(unix))]
fn lock(_: &Path, _: impl Fn(&File) -> io::Result<()>) -> Result<Option<File>, Failure> {
    Ok(None)
}

/// Whether a listed name stays within the folder.
fn is_within(name: &str) -> bool {
    let normal = |part| matches!(part, Component::Normal(_));
    !name.is_empty() && name != LIST && Path::new(name).components().all(normal)
}
