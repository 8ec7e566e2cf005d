//! The work of a tick, the room there is for it, and the tick that would have room enough.

use std::cell::LazyCell;
use std::ops::Deref;

use super::flash::Flash;
use super::work::{self, Load};
use crate::assembly::Listing;
use crate::design::Design;
use crate::emit;
use crate::plan::{MOST_OVERFLOWS, Plan};
use crate::units::{Bytes, Cycles, Time};

/// Instructions of `main.c` take at most two cycles a byte: one word is at most four cycles.
const CYCLES_PER_BYTE: u32 = 2;

/// The longest loop of `main.c` takes the number of scenes from a place until it is in range.
const WRAP: u32 = 5 * 64;

/// A tick that is made longer gets so much more than its work needs.
const SPARE: f64 = 1.25;

/// No project's work is more, in cycles: around the channels, and for each channel, level and
/// operation of one.
const MOST_AROUND: u32 = 8_000;
const MOST_OF_CHANNEL: u32 = 1_500;
const MOST_OF_LEVEL: u32 = 500;
const MOST_OF_OPERATION: u32 = 800;

/// What a tick does at its longest, and `main.c` around it.
pub(super) fn work(player: &Listing, load: Load, main: Bytes) -> Cycles {
    Cycles(light(player, load).0.saturating_add(around(main)))
}

fn around(main: Bytes) -> u32 {
    CYCLES_PER_BYTE * main.0 + WRAP
}

/// What the player does in a tick at its longest.
fn light(player: &Listing, load: Load) -> Cycles {
    player.longest("light_tick", &|label: &str| load.rounds(label))
}

/// What the interrupt leaves of a tick: of one that is waited for in several parts, as much as its
/// overflows can be told by their count, as none may be lost.
pub(super) fn left(plan: &Plan) -> Cycles {
    let overflows = plan.tick.in_overflows().min(MOST_OVERFLOWS.into());
    Cycles((overflows * left_of_overflow(plan)) as u32)
}

fn left_of_overflow(plan: &Plan) -> f64 {
    let period = f64::from(plan.drive.pwm().cycles().0);
    (period - f64::from(plan.drive.cost().busy.0)).max(0.0)
}

/// Whether a design's work is too much for its tick.
pub struct Strain {
    /// A tick with room for the work, where the design's own has none and the person asks for none.
    pub longer: Option<Time>,
    /// Outputs, which are turned on at the end of the first tick, could then be on before the first
    /// light is at the pins.
    pub is_late: bool,
}

/// Looks at the code only where a bound of its work does not settle it.
pub fn strain(design: &Design) -> Strain {
    let light = LazyCell::new(|| {
        let player = emit::player_in_c(design);
        light(&Listing::read(&player), load(design))
    });
    Strain {
        longer: longer(design, &light),
        is_late: is_late(design, &light),
    }
}

fn longer(design: &Design, light: &impl Deref<Target = Cycles>) -> Option<Time> {
    let plan = &design.plan;
    let left = left(plan);
    let fits = || light.0.saturating_add(MOST_AROUND) <= left.0;
    if design.project.tick.is_some() || at_most(design) <= left || fits() {
        return None;
    }
    let main = Flash::new(design, &emit::firmware(design)).main;
    let work = Cycles(light.0.saturating_add(around(main)));
    let longer = plan.tick.seconds() * f64::from(work.0) / f64::from(left.0) * SPARE;
    (work > left && left.0 > 0).then_some(Time((longer * 1e9) as u64))
}

/// By the overflow before the first tick's end, the light must have been worked out: the interrupt then
/// gives it to the timers, which show it one period later.
fn is_late(design: &Design, light: &impl Deref<Target = Cycles>) -> bool {
    let plan = &design.plan;
    let overflows = u32::from(plan.tick.waits) * u32::from(plan.tick.overflows);
    let before = f64::from(overflows.saturating_sub(2)) * left_of_overflow(plan);
    let is_late = |work: Cycles| f64::from(work.0) > before;
    is_late(at_most(design)) && is_late(**light)
}

fn load(design: &Design) -> Load<'_> {
    let demands = work::demands(&design.deck.image.score);
    Load::of(&design.plan.drive, &demands)
}

/// More than a tick's work, without looking at the code.
pub(super) fn at_most(design: &Design) -> Cycles {
    let load = load(design);
    let channel = MOST_OF_CHANNEL
        .saturating_add(MOST_OF_LEVEL.saturating_mul(load.levels))
        .saturating_add(MOST_OF_OPERATION.saturating_mul(load.operations));
    Cycles(
        channel
            .saturating_mul(load.channels)
            .saturating_add(MOST_AROUND),
    )
}
