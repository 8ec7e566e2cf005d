//! What the firmware consists of, whatever language it is written in: which parts it has, how its
//! memory is laid out, and how long things take in its own units.
//!
//! Templates, the model and the budget all take this from here, so that it is decided once.

mod light;
mod part;
mod start_up;
mod track;
mod variable;

use crate::conduct::fade::FadeStep;
use crate::conduct::{Beats, Features, Memory, Rules, State};
use crate::input::button::ButtonTicks;
use crate::plan::Plan;
use crate::score::Image;
use crate::spec::{Project, Show};

pub use light::{Light, Turn, Works};
pub use part::Part;
pub use start_up::{StartUp, TEMPLATES, before_tables, once, starts_in_gap};
pub use track::{Field, Track};
pub use variable::{Home, Variable};

/// The parts and measures of a project's firmware.
#[derive(Debug, Clone)]
pub struct Firmware {
    /// What the light does.
    pub rules: Rules,
    pub features: Features,
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
        let rules = Rules::new(project, image);
        let features = Features::new(&rules, image);
        let state = State::new(&rules, &features, image);
        let memory = Memory::new(project, plan, &rules, &features, &state, image);
        let dwell = project.shows.iter().find_map(|show| match show.value {
            Show::Roam { dwell, .. } => Some(dwell),
            _ => None,
        });
        let firmware = Self {
            track: Track::new(&image.format),
            beats: Beats::new(
                &plan.tick,
                dwell,
                memory.as_ref().map(|memory| memory.saving),
            ),
            button: project
                .button
                .as_ref()
                .filter(|_| rules.taps() || rules.holds())
                .map(|button| ButtonTicks::new(button, &plan.tick)),
            fade: FadeStep::new(project.change_fade.value, &plan.tick),
            variables: Vec::new(),
            dark_first: true,
            state,
            memory,
            features,
            rules,
        };
        Self {
            variables: firmware.placed(plan),
            ..firmware
        }
    }

    /// Whether changes of show and place are saved.
    pub fn remembers_choices(&self) -> bool {
        self.memory.as_ref().is_some_and(|memory| memory.choices)
    }

    /// Whether anything goes by beats.
    pub fn has_beats(&self) -> bool {
        self.memory.is_some() || self.rules.roams()
    }
}
