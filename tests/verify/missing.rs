//! What is missing is named, with how to get it.

use std::process::Command;

use crate::verify::support::folder;

#[test]
fn without_a_compiler_the_exit_status_is_3_and_the_package_is_named() {
    let empty = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_duskloom"))
        .arg("verify")
        .arg(folder("tests/verify/projects/reading-2313a.yaml"))
        .env("PATH", empty.path())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains("`make` is missing"), "{said}");
    assert!(said.contains("apt install make"), "{said}");
}

#[test]
fn without_a_linker_for_rust_the_same() {
    let empty = tempfile::tempdir().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_duskloom"))
        .args(["verify", "--to", "rust"])
        .arg(folder("tests/verify/projects/reading-2313a.yaml"))
        .env("PATH", empty.path())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(3), "{said}");
    assert!(said.contains("apt install gcc-avr"), "{said}");
}
