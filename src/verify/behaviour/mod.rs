//! What the firmware does when it is touched, switched off, worn or stuck. Every check is a claim
//! about what a person would see, judged by what the chip did; the model runs along in each.

mod asleep;
mod button;
mod cells;
mod contact;
mod dimmer;
mod dusk;
mod evening;
mod knob;
mod memory;
mod power;
mod restart;
mod rig;
mod roam;
mod standby;
mod steady;
mod stuck;
mod switch;
mod wear;

use rayon::prelude::*;

use super::bench::{Bench, Setup};
use super::{Check, Failure, Outcome, VerifyError};
use crate::conduct::Kept;
use crate::design::Design;

/// How a check ends: what was seen, or what was wrong.
type Finding = Result<Outcome, Wrong>;

/// Why a check fails, or could not be made.
enum Wrong {
    /// The firmware does something else.
    Seen(String),
    /// The bench could not be set up.
    Bench(VerifyError),
}

/// A check: what it claims, and how it is made.
type Claim = (&'static str, fn(&Setup) -> Finding);

const CLAIMS: &[Claim] = &[
    ("a tap goes to the next scene", button::tap),
    ("a hold goes to the next show", button::hold),
    ("a contact that bounces counts once", button::bounce),
    ("a gap shorter than debounce ends no press", button::gap),
    ("a press shorter than debounce does nothing", button::brush),
    (
        "a press across a change of show does nothing more",
        button::long_hold,
    ),
    (
        "a button held at power-up does nothing",
        button::held_at_power_up,
    ),
    (
        "roam never plays a pattern twice running, and keeps its dwell",
        roam::roam,
    ),
    ("steady levels are equal steps of lightness", steady::steady),
    ("show and scene survive a power cut", memory::survives),
    ("a change is safe in time", memory::in_time),
    (
        "a power cut during a save leaves the old state or the new",
        memory::cuts,
    ),
    (
        "a blank EEPROM starts with the first show and scene",
        memory::blank,
    ),
    (
        "a damaged EEPROM starts with the first show and scene",
        memory::damaged,
    ),
    (
        "an EEPROM full of noise starts with some scene there is",
        memory::noise,
    ),
    (
        "a contact plays its pattern once, and the scene before comes back",
        contact::plays,
    ),
    ("a contact that bounces plays once", contact::bounce),
    (
        "one that closes for less than debounce does nothing",
        contact::brush,
    ),
    (
        "one that is closed at power-up does nothing",
        contact::closed_at_power_up,
    ),
    ("what power brings plays once", contact::begins),
    (
        "a switch chooses the show, from the first tick on",
        switch::chooses,
    ),
    ("a switch that bounces is turned once", switch::bounce),
    (
        "the light follows its knob, in steps that nobody sees",
        knob::follows,
    ),
    ("noise at a knob moves nothing", knob::noise),
    (
        "a further button goes to the next scene, or the one before",
        dimmer::further,
    ),
    (
        "brighter and darker go by a step a tap, and end at full and at the least",
        dimmer::steps,
    ),
    ("held, they go on at their pace until let go", dimmer::held),
    (
        "one that bounces, is touched or down at power-up takes no further step",
        dimmer::touched,
    ),
    (
        "brightness by buttons survives a power cut",
        dimmer::survives,
    ),
    (
        "while it is off, brighter and darker do nothing",
        dimmer::asleep,
    ),
    (
        "it dims on low cells and goes on spent ones, for good",
        cells::run_down,
    ),
    ("a moment of low supply does nothing", cells::sag),
    ("new cells bring it back", cells::changed),
    ("a long hold puts it off, and it stays off", standby::off),
    ("it is off when power comes", standby::dark),
    ("off, a tap wakes it", standby::wakes),
    (
        "a press in the instant of falling asleep is not lost",
        standby::instant,
    ),
    ("off, it outlives a power cut", standby::cut),
    (
        "put off after the watchdog bit, it stays off",
        standby::bitten,
    ),
    ("a day is a day, however fast the watchdog", evening::day),
    ("at night it sleeps", evening::asleep),
    ("a press at night begins an evening", evening::pressed),
    (
        "on in the dark and off in the bright, and no sooner",
        dusk::day,
    ),
    ("after its hours it waits for the next dusk", dusk::hours),
    ("a press by day shows it", dusk::pressed),
    ("every reset starts the same light", restart::resets),
    (
        "what a boot loader leaves behind does no harm",
        restart::boot_loader,
    ),
    ("no two power-ups are seeded alike", power::seeds),
    ("no two new chips are seeded alike", power::new_chips),
    (
        "without memory, nothing but a seed a power-up is saved",
        wear::seed_alone,
    ),
    (
        "the EEPROM outlives ten years of hourly changes",
        wear::wear,
    ),
    ("the watchdog restarts a stuck firmware", stuck::watchdog),
];

/// How many checks there are.
pub const COUNT: usize = CLAIMS.len();

/// What each check claims, in order.
pub fn claims() -> impl Iterator<Item = &'static str> {
    CLAIMS.iter().map(|(claim, _)| *claim)
}

/// Makes the check of this place among the claims.
///
/// # Panics
/// If there are not so many.
pub fn check_one(setup: &Setup, place: usize) -> Result<Check, VerifyError> {
    let (claim, make) = CLAIMS[place];
    let outcome = match make(setup) {
        Ok(outcome) => outcome,
        Err(Wrong::Seen(what)) => Outcome::Fails(what),
        Err(Wrong::Bench(error)) => return Err(error),
    };
    Ok(Check { claim, outcome })
}

/// Makes all checks.
pub fn check(setup: &Setup) -> Result<Vec<Check>, VerifyError> {
    let places = (0..COUNT).into_par_iter().with_max_len(1);
    places.map(|place| check_one(setup, place)).collect()
}

impl From<Failure> for Wrong {
    fn from(failure: Failure) -> Self {
        Self::Seen(failure.to_string())
    }
}

impl From<VerifyError> for Wrong {
    fn from(error: VerifyError) -> Self {
        Self::Bench(error)
    }
}

/// Fails a check unless something is so.
fn ensure(so: bool, otherwise: impl FnOnce() -> String) -> Result<(), Wrong> {
    if so {
        Ok(())
    } else {
        Err(Wrong::Seen(otherwise()))
    }
}

/// What the firmware remembers, taken apart.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Remembered {
    /// By show; empty if there is nothing to choose.
    places: Vec<u8>,
    show: u8,
    /// What buttons have taken of the light.
    dimmed: u8,
    generator: Option<u16>,
}

impl Remembered {
    /// What the chip remembers now.
    fn of(bench: &mut Bench, design: &Design) -> Self {
        let mut remembered = Self {
            places: Vec::new(),
            show: 0,
            dimmed: 0,
            generator: None,
        };
        let mut bytes = bench.remembered().into_iter();
        for field in &design.firmware.state.fields {
            let mut next = || bytes.next().unwrap_or(0);
            match field {
                Kept::Places(shows) => remembered.places = (0..*shows).map(|_| next()).collect(),
                Kept::Show => remembered.show = next(),
                Kept::Dimmed => remembered.dimmed = next(),
                Kept::Generator => {
                    remembered.generator = Some(u16::from_le_bytes([next(), next()]));
                }
            }
        }
        remembered
    }

    /// Show and place, as far as there are several.
    fn choice(&self) -> (u8, Vec<u8>) {
        (self.show, self.places.clone())
    }

    /// Which scene of its show plays.
    fn place(&self) -> u8 {
        let show = usize::from(self.show);
        self.places.get(show).copied().unwrap_or(0)
    }

    /// Whether all of it exists.
    fn is_sound(&self, design: &Design) -> bool {
        let shows = &design.deck.image.score.shows;
        usize::from(self.show) < shows.len() && self.place() < shows[usize::from(self.show)].count
    }
}
