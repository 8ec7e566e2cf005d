//! How many ticks a second the generated Rust player makes on this machine.
//!
//!     cargo bench --bench rust_player [PROJECT]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, exit};

use duskloom::design::Design;
use duskloom::emit::{SourceFile, rust};
use duskloom::{diagnostic, spec};

/// Plays every scene of the crate, and prints what that took.
const MAIN: &str = r#"
use std::hint::black_box;
use std::time::Instant;

const TICKS: u32 = 2_000_000;

fn main() {
    for number in 0..LIBRARY::Scene::COUNT {
        let scene = LIBRARY::Scene::nth(number).expect("in range");
        let mut player = LIBRARY::Player::new(sceneSEED);
        let start = Instant::now();
        for _ in 0..TICKS {
            black_box(player.tick());
        }
        let million = f64::from(TICKS) / 1e6 / start.elapsed().as_secs_f64();
        println!("scene {number:>2}: {million:6.1} million ticks a second");
    }
}
"#;

fn main() {
    let given = std::env::args()
        .skip(1)
        .find(|argument| !argument.starts_with('-'));
    let default = concat!(env!("CARGO_MANIFEST_DIR"), "/patterns/harbour.yaml");
    let path = PathBuf::from(given.unwrap_or_else(|| default.to_string()));
    let project = spec::read(&path).unwrap_or_else(|report| {
        eprint!("{}", diagnostic::render(&report, false));
        exit(1)
    });
    let design = Design::new(project).unwrap_or_else(|errors| {
        eprintln!("{errors:#?}");
        exit(1)
    });
    let library = design.project.name.value.replace('-', "_");
    let seed = if design.firmware.features.draws {
        format!(", {library}::Generator::new(1)")
    } else {
        String::new()
    };
    let main = SourceFile {
        path: "examples/speed.rs".to_string(),
        text: MAIN.replace("LIBRARY", &library).replace("SEED", &seed),
    };
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("rust-speed");
    for file in rust::player(&design).into_iter().chain([main]) {
        let path = folder.join(file.path);
        fs::create_dir_all(path.parent().expect("below the folder")).expect("writable");
        fs::write(path, file.text).expect("writable");
    }
    let run = [
        "run",
        "--release",
        "--quiet",
        "--no-default-features",
        "--example",
        "speed",
    ];
    let ran = Command::new(env!("CARGO"))
        .args(run)
        .current_dir(&folder)
        .status();
    exit(ran.map_or(1, |status| i32::from(!status.success())));
}
