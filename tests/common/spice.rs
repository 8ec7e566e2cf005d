//! ngspice (Debian package `ngspice`): runs and measurements.

use std::process::{Command, Stdio};

/// What ngspice says of a circuit. `None`: it is not installed.
pub(crate) fn run(netlist: &str) -> Option<String> {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("circuit.cir");
    std::fs::write(&path, netlist).expect("a temporary file");
    let output = Command::new("ngspice")
        .arg("-b")
        .arg(&path)
        .current_dir(folder.path())
        .stdin(Stdio::null())
        .output()
        .ok()?;
    Some(String::from_utf8_lossy(&output.stdout).into_owned())
}

/// What a `.meas` line of this name came to.
///
/// # Panics
/// If ngspice measured nothing of that name.
pub(crate) fn value(output: &str, name: &str) -> f64 {
    output
        .lines()
        .filter_map(|line| line.split_once('='))
        .find(|(key, _)| key.trim() == name)
        .and_then(|(_, rest)| rest.split_whitespace().next()?.parse().ok())
        .unwrap_or_else(|| panic!("ngspice measured no {name}:\n{output}"))
}
