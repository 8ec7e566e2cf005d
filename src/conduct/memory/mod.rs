//! What survives a power cut, and how it is laid out in the EEPROM.

mod records;
mod saving;

use serde::Serialize;

use super::{Features, Rules, State};
use crate::plan::Plan;
use crate::score::{Image, Run};
use crate::spec::Project;
use crate::target::Wanted;
use crate::units::{Bytes, Time};

pub use records::{Records, Saved};
pub use saving::Saving;

/// What of the state is remembered: all of it, or the generator alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Memory {
    /// Where in the state it begins; it goes on to the end.
    pub from: Bytes,
    /// How many bytes of the state it is.
    pub state: Bytes,
    /// Changes of show, place and brightness are saved. If not, it is a new seed at each power-up.
    pub choices: bool,
    /// The pace of a save.
    pub saving: Saving,
    /// Distance of records in the EEPROM: a power of two above the state and its check byte.
    pub record: Bytes,
    /// Where the records end: a power of two, at most 256.
    pub end: Bytes,
    /// What the check byte starts from. It depends on the scenes, so that a record of another
    /// version of the firmware is not taken for one of this.
    pub check: u8,
}

/// A tick by which one channel is run ahead takes fewer cycles, unless it moves twenty levels and more.
const MOST_OF_A_TICK_AHEAD: u64 = 500;

/// The EEPROM is addressed by one byte.
const MOST: u32 = 256;

impl Memory {
    pub fn new(
        project: &Project,
        plan: &Plan,
        rules: &Rules,
        features: &Features,
        state: &State,
        image: &Image,
    ) -> Option<Self> {
        let choices = project.memory.is_some() && (rules.chooses() || rules.dims());
        // Without it every power-up would draw the same.
        if !choices && !features.draws {
            return None;
        }
        let from = if choices {
            Bytes(0)
        } else {
            state.before_generator()
        };
        let kept = Bytes(state.size().0 - from.0);
        let size = plan.chip.eeprom.size.0.min(MOST);
        let after = project.memory.filter(|_| choices);
        Some(Self {
            from,
            state: kept,
            choices,
            saving: Saving::new(
                &plan.tick,
                kept,
                plan.chip.eeprom.write(),
                after.map(|memory| memory.value.after),
                longest_lag(plan, image),
            ),
            record: Bytes((kept.0 + 1).next_power_of_two()),
            end: Bytes(1 << size.ilog2()),
            check: check(image) ^ steps(project, rules),
        })
    }

    /// Show and place are not taken up again at power-up, although there are some.
    pub fn forgets(&self) -> bool {
        self.from.0 > 0
    }

    /// What it counts in; `draws`: its first save begins at power-up.
    pub fn variables(&self, draws: bool) -> [Wanted; 3] {
        let unsaved = "steps until the state is saved; 0: it is";
        [
            Wanted::new("record", false, "where the next record goes"),
            Wanted::new("unsaved", self.saving.is_wide(), unsaved).cleared(!draws),
            Wanted::new("check", false, "what the check byte has come to"),
        ]
    }

    /// How many records take turns.
    pub fn records(&self) -> u32 {
        self.end.0 / self.record.0
    }
}

/// What the start of a scene takes at most, with channels that are run ahead, as far as it is made up for:
/// the count of overflows spans no more.
fn longest_lag(plan: &Plan, image: &Image) -> Time {
    let ahead = |runs: &Vec<Run>| -> u64 {
        let channels = runs.iter().flat_map(|run| {
            let all = 0..run.channels;
            all.map(|channel| u64::from(run.ahead_of(channel).0))
        });
        channels.sum()
    };
    let ticks = image.starts.iter().map(ahead).max().unwrap_or(0);
    let left = 1.0 - plan.drive.cost().share(plan.drive.pwm().cycles());
    let cycles = (ticks * MOST_OF_A_TICK_AHEAD) as f64 / left.max(0.01);
    let seconds = cycles / plan.clock.frequency.0;
    Time((seconds.min(plan.counted().0) * 1e9) as u64)
}

/// What tells records apart in which brightness goes by other steps; 0: by none.
fn steps(project: &Project, rules: &Rules) -> u8 {
    match rules.dims() {
        true => project.brightness.steps.value,
        false => 0,
    }
}

/// A byte that tells sets of scenes apart: FNV-1a, folded.
fn check(image: &Image) -> u8 {
    let mut hash = 0x811C_9DC5_u32;
    for scene in &image.score.scenes {
        for byte in scene.name.bytes().chain([0]) {
            hash = (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193);
        }
    }
    let folded = hash ^ hash >> 16;
    (folded ^ folded >> 8) as u8
}
