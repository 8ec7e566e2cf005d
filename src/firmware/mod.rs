//! What the firmware consists of, whatever language it is written in: which parts it has, how its
//! memory is laid out, and how long things take in its own units.
//!
//! Templates, the model and the budget all take this from here, so that it is decided once.

mod beat;
mod button;
mod code;
mod features;
mod interrupt;
mod memory;
mod part;
mod registers;
mod state;
mod track;
mod variable;

use crate::plan::Plan;
use crate::score::{Image, Run, ShowKind};
use crate::spec::{Project, Show};
use crate::units::Time;

pub use beat::{Beats, Dwell, Saving};
pub use button::ButtonTicks;
pub use code::{WAKING, before_tables, interrupt_cycles, once, starts_in_gap};
pub use features::{FadeStep, Features};
pub use interrupt::Dither;
pub use memory::Memory;
pub use part::Part;
pub use registers::{Lamp, Registers, WORK};
pub use state::{Kept, State};
pub use track::{Field, Track};
pub use variable::{Home, Variable};

/// A tick by which one channel is run ahead takes fewer cycles, unless it moves twenty levels and more.
const MOST_OF_A_TICK_AHEAD: u64 = 500;
/// Overflows are counted in a byte.
const OVERFLOWS_COUNTED: f64 = 256.0;

/// The parts and measures of a project's firmware.
#[derive(Debug, Clone)]
pub struct Firmware {
    pub features: Features,
    pub registers: Registers,
    pub dither: Dither,
    pub track: Track,
    /// What is playing.
    pub state: State,
    /// `None`: nothing is remembered.
    pub memory: Option<Memory>,
    pub beats: Beats,
    /// `None`: there is none, or nothing for it to do.
    pub button: Option<ButtonTicks>,
    /// Added to the master level each tick while a scene changes.
    pub fade: Option<FadeStep>,
    /// Of all parts, those that are counted most first.
    pub variables: Vec<Variable>,
    /// Outputs may be turned on before the first light is at the pins: they are made dark first.
    pub dark_first: bool,
}

impl Firmware {
    pub fn new(project: &Project, plan: &Plan, image: &Image) -> Self {
        let features = Features::new(project, image);
        let state = State::new(&features, image);
        let memory = Memory::new(project, plan, &features, &state, image);
        let dwell = project.shows.iter().find_map(|show| match show.value {
            Show::Roam { dwell, .. } => Some(dwell),
            _ => None,
        });
        let saving = memory.as_ref().map(|memory| {
            let after = project.memory.filter(|_| memory.choices);
            Saving::new(
                &plan.tick,
                memory.state,
                plan.chip.eeprom.write(),
                after.map(|memory| memory.value.after),
                longest_lag(plan, image),
            )
        });
        let firmware = Self {
            registers: Registers::new(plan),
            dither: Dither::new(plan.pwm.extra_bits),
            track: Track::new(&image.format),
            beats: Beats::new(&plan.tick, dwell, saving),
            button: project
                .button
                .as_ref()
                .filter(|_| features.taps || features.holds)
                .map(|button| ButtonTicks::new(button, &plan.tick)),
            fade: FadeStep::new(project.change_fade.value, &plan.tick),
            variables: Vec::new(),
            dark_first: true,
            state,
            memory,
            features,
        };
        Self {
            variables: firmware.placed(plan),
            ..firmware
        }
    }

    /// Whether anything goes by beats.
    pub fn has_beats(&self) -> bool {
        self.memory.is_some() || self.features.roams
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
    let left = 1.0 - f64::from(interrupt_cycles(plan).0) / f64::from(plan.pwm.cycles().0);
    let cycles = (ticks * MOST_OF_A_TICK_AHEAD) as f64 / left.max(0.01);
    let counted = OVERFLOWS_COUNTED * f64::from(plan.pwm.cycles().0);
    Time((cycles.min(counted) / plan.clock.frequency.0 * 1e9) as u64)
}

/// The show that roams, by its index.
pub fn roaming(image: &Image) -> Option<usize> {
    image
        .score
        .shows
        .iter()
        .position(|show| show.kind == ShowKind::Roam)
}
