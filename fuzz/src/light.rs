//! The model of the whole light with any contents of its memory, and any presses of its button.

use std::sync::LazyLock;

use duskloom::design::Design;
use duskloom::firmware::Light;
use duskloom::player::Generator;

/// A button, shows of each kind and a memory.
const PROJECTS: &[&str] = &[
    "patterns/harbour.yaml",
    "tests/rust/projects/signal-box.yaml",
];

/// Of the largest chip, in bytes.
const MEMORY: usize = 4096;

static DESIGNS: LazyLock<Vec<Design>> = LazyLock::new(|| {
    let design = |path: &&str| {
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR"));
        let root = root.ancestors().find(|root| root.join("patterns").is_dir());
        Design::read(&root.expect("the project's folder").join(path)).expect("a sound project")
    };
    PROJECTS.iter().map(design).collect()
});

/// The first byte chooses a project; the next 64, again and again, are what its memory holds; of the
/// others each is a stretch of time with the button up or down. All channels must put out a duty all
/// the while.
///
/// # Panics
/// If a duty is missing, or the memory grows.
pub fn play(data: &[u8]) {
    let Some((which, rest)) = data.split_first() else {
        return;
    };
    let design = &DESIGNS[usize::from(*which) % DESIGNS.len()];
    let (memory, presses) = rest.split_at(rest.len().min(64));
    // What was given again and again, as far as the memory of any chip reaches; else as it is erased.
    let erased = std::iter::repeat_n(0xff, usize::from(memory.is_empty()));
    let cells = memory.iter().copied().chain(erased).collect::<Vec<u8>>();
    let memory: Vec<u8> = cells.iter().copied().cycle().take(MEMORY).collect();
    let mut light = Light::power_up(design.works(), &memory, Generator::chance_in(&memory));
    let cells = light.eeprom().len();
    for press in presses.iter().take(64) {
        let down = press & 1 == 1;
        for _ in 0..u16::from(press >> 1) * 4 {
            let duties = light.play();
            assert_eq!(duties.len(), design.project.channels.len());
            light.turn(down);
        }
    }
    assert_eq!(light.eeprom().len(), cells);
    Light::power_up(
        design.works(),
        light.eeprom(),
        Generator::new(Generator::FIRST),
    );
}
