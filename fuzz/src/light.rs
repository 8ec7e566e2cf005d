//! The model of the whole light with any contents of its memory, whatever is pressed, closed and measured.

use std::sync::LazyLock;

use duskloom::design::Design;
use duskloom::firmware::Light;
use duskloom::input::Sensed;
use duskloom::player::Generator;

/// A button, shows of each kind and a memory; then each input, standby and evenings.
pub const PROJECTS: &[&str] = &[
    "patterns/harbour.yaml",
    "tests/rust/projects/signal-box.yaml",
    "patterns/seawall.yaml",
    "patterns/churchyard.yaml",
    "patterns/stable.yaml",
    "patterns/toll.yaml",
    "patterns/ferry.yaml",
    "patterns/observatory.yaml",
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
/// others each three are a [`Stretch`]. All channels must put out a duty all the while.
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
    for bytes in presses.chunks(3).take(64) {
        let stretch = Stretch::of(bytes);
        if stretch.ends_day {
            light.pass(1);
        }
        for _ in 0..stretch.ticks {
            let duties = light.play();
            assert_eq!(duties.len(), design.project.channels.len());
            light.turn(stretch.sensed);
        }
    }
    assert_eq!(light.eeprom().len(), cells);
    Light::power_up(
        design.works(),
        light.eeprom(),
        Generator::new(Generator::FIRST),
    );
}

/// A while in which nothing changes outside.
struct Stretch {
    ticks: u16,
    sensed: Sensed,
    /// What there is of the evening, or of the night, is over.
    ends_day: bool,
}

impl Stretch {
    /// The button's bit and a time; what is closed, and whether the day ends; what is measured. What is
    /// not given is at rest.
    fn of(bytes: &[u8]) -> Self {
        let byte = |index: usize| bytes.get(index).copied();
        let press = byte(0).unwrap_or(0);
        let closed = byte(1).unwrap_or(0);
        let measured = byte(2).unwrap_or(u8::MAX);
        let mut sensed = Sensed::REST;
        sensed.button = press & 1 == 1;
        sensed.contacts = closed & 0x0f;
        sensed.switch = closed & 0x10 != 0;
        sensed.knob = measured;
        sensed.room = if closed & 0x20 == 0 {
            measured
        } else {
            !measured
        };
        if closed & 0x80 != 0 {
            sensed.cells = measured;
        }
        Self {
            ticks: u16::from(press >> 1) * 4,
            sensed,
            ends_day: closed & 0x40 != 0,
        }
    }
}
