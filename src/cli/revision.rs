//! A project as it is in a file, or as it was in a revision of git.

use std::io;
use std::path::{Component, Path, PathBuf};
use std::process::Command;

use duskloom::design::Design;
use duskloom::spec;

use super::failure::Failure;

/// Where to find a version of a project.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Version {
    File(PathBuf),
    Revision { revision: String, path: PathBuf },
}

impl Version {
    /// A file, if there is one of this name; else `REV:path`, if it has a colon.
    pub(super) fn of(text: &str) -> Self {
        match text.split_once(':') {
            Some((revision, path)) if !Path::new(text).exists() => Self::Revision {
                revision: revision.to_string(),
                path: path.into(),
            },
            _ => Self::File(text.into()),
        }
    }

    /// Reads the version, with its libraries as they were then, and takes it through all stages.
    ///
    /// # Errors
    /// A report of what is wrong with it; git is missing.
    pub(super) fn design(&self) -> Result<Design, Failure> {
        let project = match self {
            Self::File(path) => spec::read(path),
            Self::Revision { revision, path } => {
                ensure_git()?;
                let from = Start::of(path);
                spec::read_with(path, &|path| show(revision, from, path))
            }
        };
        project
            .and_then(|project| Design::reported(project, Design::new))
            .map_err(Failure::Project)
    }
}

fn ensure_git() -> Result<(), Failure> {
    match Command::new("git").arg("--version").output() {
        Ok(_) => Ok(()),
        Err(error) => Err(Failure::missing(format!("cannot run git: {error}"))
            .hint("Debian's package `git` has it; or compare two files")),
    }
}

/// Where the paths of a revision start, as git has it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Start {
    Top,
    /// Where the person stands: the path begins with `./` or `../`.
    Here,
}

impl Start {
    fn of(path: &Path) -> Self {
        match path.components().next() {
            Some(Component::CurDir | Component::ParentDir) => Self::Here,
            _ => Self::Top,
        }
    }
}

/// The bytes of a file in a revision.
fn show(revision: &str, from: Start, path: &Path) -> io::Result<Vec<u8>> {
    // Within the tree, git does not resolve `.` and `..`.
    let path = spec::plain(path);
    let outside = path.components().next() == Some(Component::ParentDir);
    let path = path.to_string_lossy().replace('\\', "/");
    match from {
        Start::Here => object(&format!("{revision}:./{path}")),
        Start::Top if outside => Err(io::Error::other(format!(
            "`{path}` is above the top of the repository"
        ))),
        Start::Top => object(&format!("{revision}:{path}")),
    }
}

fn object(name: &str) -> io::Result<Vec<u8>> {
    let output = Command::new("git")
        .args(["show", "--no-textconv", "--end-of-options", name])
        .env("LC_ALL", "C")
        .output()?;
    if output.status.success() {
        return Ok(output.stdout);
    }
    let complaint = String::from_utf8_lossy(&output.stderr);
    let line = complaint.lines().next().unwrap_or("git show fails");
    Err(io::Error::other(
        line.trim_start_matches("fatal: ").to_string(),
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colon_means_a_revision_unless_there_is_such_a_file() {
        assert_eq!(
            Version::of("HEAD~2:lights/porch.yaml"),
            Version::Revision {
                revision: "HEAD~2".to_string(),
                path: "lights/porch.yaml".into(),
            }
        );
        assert_eq!(
            Version::of("porch.yaml"),
            Version::File("porch.yaml".into())
        );
    }

    #[test]
    fn git_gets_paths_without_detours() {
        let path = spec::plain(Path::new("./lights/../shared/./marine.yaml"));
        assert_eq!(path, Path::new("shared/marine.yaml"));
    }
}
