//! Files of what others have measured: comments, and a line of YAML for each case.

use std::fs;

use serde::Serialize;
use serde::de::DeserializeOwned;

/// The cases of a file.
pub(crate) fn cases<T: DeserializeOwned>(path: &str) -> Vec<T> {
    serde_yaml::from_str(&text(path)).expect("it is sound")
}

/// Writes the file anew with these cases; what its comments say of it stays.
pub(crate) fn renew(path: &str, cases: impl IntoIterator<Item = impl Serialize>) {
    let text = text(path);
    let comments = text.lines().take_while(|line| line.starts_with('#'));
    let mut renewed: String = comments.map(|line| format!("{line}\n")).collect();
    renewed.extend(cases.into_iter().map(|case| line(&case)));
    fs::write(path, renewed).expect("the file can be written");
}

fn text(path: &str) -> String {
    fs::read_to_string(path).expect("the file is there")
}

fn line(case: &impl Serialize) -> String {
    let line = serde_json::to_string(case).expect("plain data");
    format!("- {}\n", line.replace("\":", "\": ").replace(",\"", ", \""))
}
