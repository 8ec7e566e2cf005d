//! What is committed in `out/` is what `duskloom build` writes, so that a change to the compiler
//! shows up in review as a change of firmware.
//!
//! After such a change, `REGENERATE=1 cargo test --test it demos::output` writes it anew.

use std::path::PathBuf;
use std::process::Command;

use crate::demos::support::{demos, root};

/// Demos that are there in Rust too: one that fits on a screen.
const IN_RUST: [&str; 1] = ["patterns/lantern.yaml"];

#[test]
fn what_is_committed_is_what_is_built() {
    let anew = std::env::var_os("REGENERATE").is_some();
    let in_c = demos().into_iter().map(|demo| (demo, "c"));
    let in_rust = IN_RUST.map(|demo| (PathBuf::from(demo), "rust"));
    for (demo, language) in in_c.chain(in_rust) {
        let built = Command::new(env!("CARGO_BIN_EXE_duskloom"))
            .current_dir(root())
            .arg("build")
            .arg(&demo)
            .args(["--to", language])
            .arg(if anew { "--force" } else { "--check" })
            .output()
            .expect("duskloom runs");
        assert!(
            built.status.success(),
            "{}\nif the change is meant: REGENERATE=1 cargo test --test it demos::output",
            String::from_utf8_lossy(&built.stderr)
        );
    }
}

/// No folder is left of a demo that is gone.
#[test]
fn every_folder_belongs_to_a_demo() {
    let names: Vec<String> = demos()
        .iter()
        .map(|demo| crate::demos::support::design(demo).project.name.value)
        .collect();
    for entry in root().join("out").read_dir().expect("out/ is there") {
        let name = entry
            .expect("an entry")
            .file_name()
            .into_string()
            .expect("a name");
        let name = name.strip_suffix("-rust").unwrap_or(&name).to_string();
        assert!(names.contains(&name), "out/{name} belongs to no demo");
    }
}
