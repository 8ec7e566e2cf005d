//! The structure of the source: folders import each other in one direction, and files stay small.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// No file is longer, in lines (common practice, no source).
const LONGEST: usize = 400;

fn sources() -> Vec<PathBuf> {
    fn collect(folder: &Path, into: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                collect(&path, into);
            } else if path.extension().is_some_and(|end| end == "rs") {
                into.push(path);
            }
        }
    }
    let mut all = Vec::new();
    collect("src".as_ref(), &mut all);
    all.sort();
    all
}

/// The folders as the picture in `lib.rs` lists them, each with its place.
fn order() -> BTreeMap<String, usize> {
    let text = fs::read_to_string("src/lib.rs").unwrap();
    let picture = text
        .split("```text")
        .find(|block| block.contains(" · "))
        .and_then(|block| block.split("```").next())
        .expect("a picture of the order");
    let words = picture.split_whitespace();
    words
        .filter(|word| !["//!", "·"].contains(word))
        .map(str::to_string)
        .zip(0..)
        .collect()
}

/// The folder or file of the library that a path lies in: `emit` for `src/emit/rust/chip.rs`.
fn room(path: &Path) -> String {
    let below = path.strip_prefix("src").unwrap();
    let first = below.components().next().unwrap().as_os_str();
    first.to_string_lossy().trim_end_matches(".rs").to_string()
}

/// What a text names of the crate, outside its own tests, with the line.
fn imports(text: &str) -> Vec<(usize, String)> {
    let lines = text.lines().zip(1..);
    lines
        .take_while(|(line, _)| *line != "#[cfg(test)]")
        .filter(|(line, _)| !line.trim_start().starts_with("//"))
        .flat_map(|(line, number)| {
            let mentions = line.split("crate::").skip(1);
            mentions.map(move |rest| {
                let end = rest.find(|c: char| !c.is_alphanumeric() && c != '_');
                (number, rest[..end.unwrap_or(rest.len())].to_string())
            })
        })
        .collect()
}

#[test]
fn imports_run_one_way() {
    let order = order();
    let mut seen = 0;
    let mut wrong = Vec::new();
    for path in sources() {
        let room = room(&path);
        let Some(own) = order.get(&room) else {
            let outside = ["lib", "main", "cli"];
            assert!(outside.contains(&room.as_str()), "{room} has no place");
            continue;
        };
        for (line, import) in imports(&fs::read_to_string(&path).unwrap()) {
            seen += 1;
            let known = order.get(&import);
            if known.is_none_or(|place| place > own) {
                wrong.push(format!("{}:{line}: {room} → {import}", path.display()));
            }
        }
    }
    assert!(seen > 500, "only {seen} imports were found");
    assert!(wrong.is_empty(), "against the order:\n{}", wrong.join("\n"));
}

#[test]
fn an_import_against_the_order_is_seen() {
    let text = "use crate::emit::{self};\n// crate::no\nlet a = crate::board::b();\n#[cfg(test)]\nuse crate::verify;\n";
    let found = imports(text);
    assert_eq!(found, [(1, "emit".to_string()), (3, "board".to_string())]);
}

#[test]
fn files_stay_small() {
    let lines = |path: &PathBuf| fs::read_to_string(path).unwrap().lines().count();
    let all = sources();
    let long: Vec<&PathBuf> = all.iter().filter(|path| lines(path) > LONGEST).collect();
    assert!(all.len() > 300, "only {} files were found", all.len());
    assert!(long.is_empty(), "longer than {LONGEST} lines: {long:?}");
}

/// No function is longer, in lines (common practice, no source).
const LONGEST_FUNCTION: usize = 80;

/// The functions of a text as rustfmt lays it out, each with its name and how many lines it has.
fn functions(text: &str) -> Vec<(String, usize)> {
    let lines: Vec<&str> = text.lines().collect();
    let starts = lines.iter().enumerate().filter_map(|(at, line)| {
        let (before, after) = line.split_once("fn ")?;
        let indent = before.len() - before.trim_start().len();
        let is_start = before
            .split_whitespace()
            .all(|word| word.starts_with("pub") || word == "const" || word.ends_with(')'));
        let name = after.split(['(', '<']).next()?;
        (is_start && !line.ends_with('}')).then(|| (at, indent, name.to_string()))
    });
    let measured = starts.filter_map(|(at, indent, name)| {
        let end = format!("{}}}", " ".repeat(indent));
        let length = lines[at..].iter().position(|line| *line == end)?;
        Some((name, length + 1))
    });
    measured.collect()
}

#[test]
fn functions_stay_small() {
    let mut seen = 0;
    let mut long = Vec::new();
    for path in sources() {
        for (name, length) in functions(&fs::read_to_string(&path).unwrap()) {
            seen += 1;
            if length > LONGEST_FUNCTION {
                long.push(format!("{}: {name} has {length} lines", path.display()));
            }
        }
    }
    assert!(seen > 2000, "only {seen} functions were found");
    assert!(
        long.is_empty(),
        "longer than {LONGEST_FUNCTION} lines: {long:#?}"
    );
}

#[test]
fn the_length_of_a_function_is_seen() {
    let text = "pub(crate) fn a(x: u8) -> u8 {\n    x\n}\n\nimpl B {\n    fn c() {\n        if x {\n        }\n    }\n}\n";
    let found = functions(text);
    assert_eq!(found, [("a".to_string(), 3), ("c".to_string(), 4)]);
}
