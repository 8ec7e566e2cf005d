//! A folder of generated files, kept in step with what is generated, without ever losing what the
//! person changed in it.
//!
//! Next to the files lies a list of their checksums, in the form that `sha256sum -c` reads. A file
//! that has neither its new contents nor those of the list was changed by someone.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};

use sha2::{Digest, Sha256};

use duskloom::emit::SourceFile;

use super::failure::Failure;
use super::file;

/// The list of checksums.
const LIST: &str = "checksums.sha256";

/// A folder, and the checksums of what was last generated in it.
pub struct Folder {
    path: PathBuf,
    /// Paths within the folder, each with its checksum; two of one path after a run that was stopped.
    recorded: Sums,
}

type Sums = BTreeSet<(String, String)>;

/// What generating means for a file of the folder.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
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
pub struct Entry {
    /// Within the folder.
    pub path: String,
    pub state: State,
}

impl Folder {
    /// The folder at `path`, which need not exist.
    ///
    /// # Errors
    /// The list of checksums cannot be read.
    pub fn open(path: PathBuf) -> Result<Self, Failure> {
        let list = read(&path.join(LIST))?.unwrap_or_default();
        let recorded = String::from_utf8_lossy(&list)
            .lines()
            .filter_map(|line| line.split_once("  "))
            .filter(|(_, name)| is_within(name))
            .map(|(sum, name)| (name.to_string(), sum.to_string()))
            .collect();
        Ok(Self { path, recorded })
    }

    /// Where a file of the folder is.
    pub fn place(&self, name: &str) -> PathBuf {
        self.path.join(name)
    }

    /// What generating `files` means for each of them and for what was generated before, by name.
    ///
    /// # Errors
    /// A file cannot be read.
    pub fn compare(&self, files: &[SourceFile]) -> Result<Vec<Entry>, Failure> {
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
                (None, Some(_)) if ours => State::LeftOver,
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
    pub fn update(&mut self, files: &[SourceFile], entries: &[Entry]) -> Result<(), Failure> {
        let new: Sums = files
            .iter()
            .map(|file| (file.path.clone(), checksum(file.text.as_bytes())))
            .collect();
        let touched = |entry: &&Entry| !matches!(entry.state, State::Same | State::EditedLeftOver);
        if entries.iter().filter(touched).count() == 0 && self.recorded == new {
            return Ok(());
        }
        fs::create_dir_all(&self.path)
            .map_err(|error| Failure::file("make the folder", &self.path, &error))?;
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
    match fs::read(path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Failure::file("read", path, &error)),
    }
}

/// Whether a listed name stays within the folder.
fn is_within(name: &str) -> bool {
    let normal = |part| matches!(part, Component::Normal(_));
    !name.is_empty() && name != LIST && Path::new(name).components().all(normal)
}
