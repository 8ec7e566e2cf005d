//! What is committed in `out/` is what `duskloom build` writes, so that a change to the compiler
//! shows up in review as a change of firmware.
//!
//! After such a change, `REGENERATE=1 cargo test --test demos output` writes it anew.

use std::process::Command;

use crate::support::{demos, root};

#[test]
fn what_is_committed_is_what_is_built() {
    let anew = std::env::var_os("REGENERATE").is_some();
    for demo in demos() {
        let built = Command::new(env!("CARGO_BIN_EXE_duskloom"))
            .current_dir(root())
            .arg("build")
            .arg(&demo)
            .arg(if anew { "--force" } else { "--check" })
            .output()
            .expect("duskloom runs");
        assert!(
            built.status.success(),
            "{}\nif the change is meant: REGENERATE=1 cargo test --test demos output",
            String::from_utf8_lossy(&built.stderr)
        );
    }
}

/// No folder is left of a demo that is gone.
#[test]
fn every_folder_belongs_to_a_demo() {
    let names: Vec<String> = demos()
        .iter()
        .map(|demo| crate::support::design(demo).project.name.value)
        .collect();
    for entry in root().join("out").read_dir().expect("out/ is there") {
        let name = entry
            .expect("an entry")
            .file_name()
            .into_string()
            .expect("a name");
        assert!(names.contains(&name), "out/{name} belongs to no demo");
    }
}
