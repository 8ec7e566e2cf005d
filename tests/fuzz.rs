//! What the fuzzing targets do, on what they once found (`fuzz/found/`) and on changes to a small
//! project. That the targets compile is checked here too, but for their few lines in `fuzz/targets/`.

#[path = "../fuzz/src/lib.rs"]
mod targets;

use std::fs;
use std::path::Path;

use targets::{light, mutation, project};

const SMALL: &str = include_str!("board/projects/bare.yaml");

#[test]
fn a_sound_project_goes_all_the_way() {
    let built = project::build(SMALL.as_bytes()).expect("a sound project");
    assert!(built.files.len() > 10);
    project::look(&built);
}

#[test]
fn what_was_found_once_is_borne() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/found");
    for entry in fs::read_dir(folder).expect("a folder of texts") {
        let text = fs::read(entry.expect("a file").path()).expect("a text");
        if let Some(built) = project::build(&text) {
            project::look(&built);
        }
    }
}

#[test]
fn changes_are_read_or_refused_and_some_of_each() {
    let (mut read, mut refused) = (0, 0);
    for seed in 1..400 {
        let mut data = [0; 512];
        data[..SMALL.len()].copy_from_slice(SMALL.as_bytes());
        let Some(size) = mutation::mutated(&mut data, SMALL.len(), 512, seed) else {
            continue;
        };
        match project::read(&data[..size]) {
            Some(_) => read += 1,
            None => refused += 1,
        }
    }
    assert!(read > 10 && refused > 10, "{read} read, {refused} refused");
}

#[test]
fn any_memory_and_presses_play() {
    for project in 0..2 {
        let data: Vec<u8> = (0..90).map(|n: u8| n.wrapping_mul(37)).collect();
        light::play(&[&[project], data.as_slice()].concat());
    }
}
