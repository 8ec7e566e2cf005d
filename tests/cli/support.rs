//! Runs the tool in a folder of its own.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use tempfile::TempDir;

/// A folder to run the tool in, removed when it is dropped.
pub(super) struct Desk(TempDir);

impl Desk {
    pub(super) fn new() -> Self {
        Self(tempfile::tempdir().expect("a temporary folder"))
    }

    /// With this project as `light.yaml`.
    pub(super) fn with(project: &str) -> Self {
        let desk = Self::new();
        desk.write("light.yaml", project);
        desk
    }

    pub(super) fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub(super) fn read(&self, name: &str) -> String {
        let path = self.path(name);
        fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
    }

    pub(super) fn write(&self, name: &str, text: &str) {
        let path = self.path(name);
        fs::create_dir_all(path.parent().expect("a folder")).expect("a folder");
        fs::write(path, text).expect("a file can be written");
    }

    /// The names of the files in a folder, sorted.
    pub(super) fn list(&self, folder: &str) -> Vec<String> {
        let Ok(entries) = fs::read_dir(self.path(folder)) else {
            return Vec::new();
        };
        let name = |entry: std::io::Result<fs::DirEntry>| {
            entry
                .expect("an entry")
                .file_name()
                .into_string()
                .expect("a name")
        };
        let mut names: Vec<String> = entries.map(name).collect();
        names.sort();
        names
    }

    /// The firmware in a folder compiles, without a warning.
    pub(super) fn compile(&self, folder: &str) {
        let make = Command::new("make")
            .arg("-C")
            .arg(self.path(folder))
            .output()
            .expect("make runs");
        let said = String::from_utf8_lossy(&make.stderr);
        assert!(make.status.success() && said.is_empty(), "{said}");
    }

    /// The tool with these arguments, separated by spaces.
    pub(super) fn command(&self, arguments: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_duskloom"));
        command
            .args(arguments.split_whitespace())
            .current_dir(self.0.path())
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE");
        command
    }

    pub(super) fn run(&self, arguments: &str) -> Answer {
        Answer::of(&mut self.command(arguments))
    }
}

/// What the tool printed and how it ended.
#[derive(Debug)]
pub(super) struct Answer {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Answer {
    pub(super) fn of(command: &mut Command) -> Self {
        let Output {
            status,
            stdout,
            stderr,
        } = command.output().expect("the tool runs");
        let text = |bytes| String::from_utf8(bytes).expect("the tool prints UTF-8");
        Self {
            status: status.code().expect("it ends by itself"),
            out: text(stdout),
            err: text(stderr),
        }
    }

    /// All of it, for a snapshot.
    pub(super) fn shown(&self) -> String {
        let part = |name: &str, text: &str| match text {
            "" => String::new(),
            text => format!("--- {name}\n{text}"),
        };
        format!(
            "status {}\n{}{}",
            self.status,
            part("report", &self.out),
            part("diagnostics", &self.err)
        )
    }
}

/// A file beside the tests of the command line.
pub(super) fn scenario(name: &str) -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cli/projects");
    let path = folder.join(name);
    fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}
