//! Projects as Rust, in folders of their own, and cargo in them.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use duskloom::emit::SourceFile;

pub(super) use crate::common::designs::from_file as design;

/// Projects that together use every form of tables and programs.
pub(super) fn projects() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let files = |folder: &str| {
        let entries = fs::read_dir(root.join(folder)).expect("a folder of this repository");
        entries.map(|entry| entry.expect("readable").path())
    };
    let mut projects: Vec<PathBuf> = files("patterns")
        .chain(files("tests/rust/projects"))
        .filter(|path| {
            path.extension()
                .is_some_and(|extension| extension == "yaml")
        })
        .collect();
    projects.sort();
    projects
}

/// A new folder with these files.
pub(super) fn folder(name: &str, files: &[SourceFile]) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("rust")
        .join(name);
    let _ = fs::remove_dir_all(&folder);
    for file in files {
        let path = folder.join(&file.path);
        fs::create_dir_all(path.parent().expect("below the folder")).expect("writable");
        fs::write(path, &file.text).expect("writable");
    }
    folder
}

/// A command in a folder, that must succeed; what it printed.
pub(super) fn run(command: &mut Command, folder: &Path) -> String {
    let output = output(command, folder);
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    assert!(
        output.status.success(),
        "{command:?} in {}:\n{}{}",
        folder.display(),
        text(&output.stdout),
        text(&output.stderr)
    );
    text(&output.stdout)
}

/// A command in a folder.
pub(super) fn output(command: &mut Command, folder: &Path) -> Output {
    command
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .unwrap_or_else(|error| panic!("{command:?}: {error}"))
}

/// The cargo that runs this test, for another package; all share one target folder.
pub(super) fn cargo(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO"));
    let target = Path::new(env!("CARGO_TARGET_TMPDIR")).join("rust-target");
    command
        .args(arguments)
        .arg("--offline")
        .env("CARGO_TARGET_DIR", target)
        .env_remove("RUSTFLAGS");
    command
}
