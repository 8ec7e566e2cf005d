//! What the fuzzing targets do, on what they once found (`fuzz/found/`) and on changes to a small
//! project. That the targets compile is checked here too, but for their few lines in `fuzz/targets/`.

#[allow(unreachable_pub)] // Its own targets reach it.
#[path = "../fuzz/src/lib.rs"]
mod targets;

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use duskloom::emit::Language;
use targets::project::{Choice, LOOKS};
use targets::{light, mutation, project};

const SMALL: &str = include_str!("board/projects/bare.yaml");

/// The texts in a folder of `fuzz/`, by name.
fn texts(folder: &str) -> BTreeMap<String, Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fuzz")
        .join(folder);
    let files = fs::read_dir(folder).expect("a folder of texts");
    let text = |file: fs::DirEntry| {
        let name = file.file_name().to_string_lossy().into_owned();
        (name, fs::read(file.path()).expect("a text"))
    };
    files.map(|file| text(file.expect("a file"))).collect()
}

/// Everything that is made of a text, whatever it would choose; `false`: it is refused.
fn goes_all_the_way(text: &[u8]) -> bool {
    [Language::C, Language::Rust].into_iter().all(|language| {
        [true, false].into_iter().all(|whole| {
            let Some(built) = project::build(text, language, whole) else {
                return false;
            };
            if whole {
                LOOKS.iter().for_each(|look| look(&built));
            }
            !built.files.is_empty()
        })
    })
}

#[test]
fn the_seeds_go_all_the_way() {
    let seeds = texts("seeds");
    assert!(seeds.len() >= 10);
    for (name, text) in seeds {
        assert!(goes_all_the_way(&text), "{name} is refused");
    }
}

#[test]
fn what_was_found_once_is_borne() {
    for (_, text) in texts("found") {
        goes_all_the_way(&text);
    }
}

/// What the texts choose comes to everything, and to most of it seldom: that is what makes it quick.
#[test]
fn texts_choose_everything() {
    let mut looked = [0; LOOKS.len()];
    let mut chosen = BTreeMap::new();
    for number in 0..6000_u32 {
        let choice = Choice::of(format!("levels: {number}").as_bytes());
        let is_rust = choice.language == Language::Rust;
        *chosen.entry((is_rust, choice.whole)).or_insert(0) += 1;
        let Some(look) = choice.look else { continue };
        looked[look] += 1;
    }
    assert!(
        looked.iter().all(|&count| count > 40 && count < 160),
        "{looked:?}"
    );
    assert!(
        chosen.len() == 4 && chosen.values().all(|&count| count > 80),
        "{chosen:?}"
    );
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
    for project in 0..light::PROJECTS.len() {
        let data: Vec<u8> = (0..130).map(|n: u8| n.wrapping_mul(37)).collect();
        light::play(&[&[project as u8], data.as_slice()].concat());
    }
}
