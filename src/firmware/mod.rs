//! What the firmware consists of, whatever language it is written in: which parts it has, how its
//! memory is laid out, and how long things take in its own units.
//!
//! Templates, the model and the budget all take this from here, so that it is decided once.

mod ahead;
mod change;
mod dark;
mod light;
mod off;
mod part;
mod start_up;
mod track;
mod variable;
mod vectors;

use crate::conduct::fade::FadeStep;
use crate::conduct::{Beats, Dusk, EveningTicks, Features, Memory, Rules, State, counted_in};
use crate::input::button::ButtonTicks;
use crate::input::cells::{CellRules, LOOKS};
use crate::input::contact::ContactTicks;
use crate::input::dimmer::DimmerTicks;
use crate::input::knob::KnobTicks;
use crate::input::room::RoomTicks;
use crate::input::switch::SwitchTicks;
use crate::plan::{Plan, Tick};
use crate::score::Image;
use crate::spec::{Contact, Project, Sets, Show, Starts, Tap};
use crate::target::Measured;
use crate::units::{Bytes, Seconds, Ticks};

pub use ahead::{Passed, computes_parts, passed};
pub use change::Turn;
pub use dark::DarkText;
pub use light::{Begin, Light, Works};
pub use part::Part;
pub use start_up::{StartUp, TEMPLATES, before_tables, once, vectors};
pub use track::{Field, Track, room_for_track};
pub use variable::{Home, Variable};
pub use vectors::{Vector, Vectors};

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
    /// In the order of the project, but for those of the dimmer.
    pub contacts: Vec<ContactTicks>,
    /// `None`: no switch chooses between shows.
    pub switch: Option<SwitchTicks>,
    /// `None`: there is no knob.
    pub knob: Option<KnobTicks>,
    /// `None`: no buttons set the brightness.
    pub dimmer: Option<DimmerTicks>,
    /// Added to the master level each tick while a scene changes.
    pub fade: Option<FadeStep>,
    /// `None`: it is on as long as it has power, or until it is put off.
    pub evening: Option<EveningTicks>,
    /// `None`: it does not matter how bright it is around.
    pub dusk: Option<Dusk>,
    /// Of all parts, those that are counted most first.
    pub variables: Vec<Variable>,
    /// `None`: nobody looks after the cells.
    pub cells: Option<CellRules>,
    /// What is measured, a tick each in turn.
    pub measures: Vec<Measured>,
    /// It is in standby when power comes.
    pub starts_dark: bool,
    /// A press of the button ends what is dark.
    pub wakes: bool,
    /// Outputs may be turned on before the first light is at the pins: they are made dark first.
    pub dark_first: bool,
}

impl Firmware {
    pub fn new(project: &Project, plan: &Plan, image: &Image) -> Self {
        let fade = FadeStep::new(project.change_fade.value, &plan.tick);
        let rules = Rules::new(project, image, fade);
        let features = Features::new(&rules, image);
        let state = State::new(&rules, &features, image);
        let memory = Memory::new(project, plan, &rules, &features, &state, image);
        let dwell = project.shows.iter().find_map(|show| match show.value {
            Show::Roam { dwell, .. } => Some(dwell),
            _ => None,
        });
        let evening = project.timed_evening().map(|evening| evening.value);
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
                .filter(|_| rules.taps() || rules.holds() || rules.stands_by())
                .map(|button| {
                    let long = project.standby.map(|standby| standby.value.hold);
                    ButtonTicks::new(button, long, rules.holds(), &plan.tick)
                }),
            contacts: contacts(project, &plan.tick),
            switch: (project.selector.as_ref())
                .map(|selector| SwitchTicks::new(selector, &plan.tick)),
            knob: knob(project, plan),
            dimmer: DimmerTicks::new(project, &plan.tick),
            fade,
            evening: evening.map(|evening| EveningTicks::new(&evening, fade, &plan.tick)),
            dusk: dusk(project, plan),
            cells: cells(project, plan),
            measures: measures(plan),
            variables: Vec::new(),
            starts_dark: project
                .standby
                .is_some_and(|standby| standby.value.starts == Starts::Dark),
            wakes: plan
                .power_down
                .as_ref()
                .is_some_and(|power_down| power_down.button.is_some()),
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

    /// Whether changes of show, place and brightness are saved.
    pub fn remembers_choices(&self) -> bool {
        self.memory.as_ref().is_some_and(|memory| memory.choices)
    }

    /// For how many looks a contact must be closed to count, by its place.
    pub fn contact_debounce(&self, at: u8) -> Option<u16> {
        let own = self.contacts.iter().find(|contact| contact.index == at);
        let dimmer = self
            .dimmer
            .filter(|dimmer| [dimmer.brighter, dimmer.darker].contains(&at));
        own.map(|contact| contact.debounce)
            .or(dimmer.map(|dimmer| dimmer.debounce))
    }

    /// Whether it is dark for a part of each day.
    pub fn has_nights(&self) -> bool {
        self.evening.is_some() || self.dusk.is_some()
    }

    /// How long it is on, to where it goes. `None`: as long as it is dark around, or for ever.
    pub fn lasts(&self) -> Option<Ticks> {
        let by_dusk = self.dusk.and_then(|dusk| dusk.on);
        by_dusk.or(self.evening.map(|evening| evening.on))
    }

    /// What the ticks that are left of an evening are counted in.
    pub fn counted(&self) -> Bytes {
        self.lasts().map_or(Bytes(0), counted_in)
    }

    /// What an evening and its night keep in memory: besides those, periods of the watchdog, or ticks in the bright.
    pub fn nights(&self) -> Bytes {
        Bytes(match self.has_nights() {
            true => self.counted().0 + 2,
            false => 0,
        })
    }

    /// What the assembly of the parts keeps in memory: by what levels are dimmed, of a change two bytes for its small
    /// steps; how fast patterns go; evening and night; how low cells are, and for how long; and how bright it was, where
    /// something else is measured in turn with that.
    pub fn in_assembly(&self) -> Bytes {
        let fade = self.fade.map_or(0, |_| 2);
        let gain = u32::from(self.has_gain());
        let speed = self.pacer().map_or(0, |_| 2);
        let room = u32::from(self.measures_in_turn() && self.dusk.is_some());
        let cells = self.cells.map_or(0, |_| 2);
        Bytes(fade + gain + speed + room + cells + self.nights().0)
    }

    /// The knob that lets through a part of the light.
    pub fn dim_knob(&self) -> Option<KnobTicks> {
        self.knob.filter(|knob| knob.sets == Sets::Brightness)
    }

    /// The knob that says how fast patterns go.
    pub fn pacer(&self) -> Option<KnobTicks> {
        self.knob.filter(|knob| knob.sets == Sets::Speed)
    }

    /// Whether something that is measured lets through a part of the light: a knob, or cells that are low.
    pub fn has_gain(&self) -> bool {
        self.dim_knob().is_some() || self.cells.is_some()
    }

    /// Whether a tick takes what was measured.
    pub fn measures(&self) -> bool {
        self.knob.is_some() || self.cells.is_some()
    }

    /// Whether levels are dimmed before they become light: so, by buttons, or while a scene changes.
    pub fn dims(&self) -> bool {
        self.has_gain() || self.dimmer.is_some() || self.fade.is_some()
    }

    /// How long cells must be at a limit, on all their looks.
    pub fn agree(&self) -> Ticks {
        Ticks(u32::from(LOOKS) * self.measures.len() as u32)
    }

    /// Whether several things are measured.
    pub fn measures_in_turn(&self) -> bool {
        self.measures.len() > 1
    }

    /// Whether anything goes by beats.
    pub fn has_beats(&self) -> bool {
        self.memory.is_some() || self.rules.roams()
    }
}

fn knob(project: &Project, plan: &Plan) -> Option<KnobTicks> {
    let sets = project.knob.as_ref()?.sets;
    let turns = plan.converter.as_ref()?.measures.len();
    Some(KnobTicks::new(
        sets,
        Seconds(turns as f64 * plan.tick.seconds()),
    ))
}

fn cells(project: &Project, plan: &Plan) -> Option<CellRules> {
    let supply = plan.converter.as_ref()?.supply?;
    Some(CellRules::new(project.guard.as_ref()?, supply.limits))
}

fn measures(plan: &Plan) -> Vec<Measured> {
    let measures = plan.converter.iter().flat_map(|one| &one.measures);
    measures.map(|measure| measure.what).collect()
}

fn dusk(project: &Project, plan: &Plan) -> Option<Dusk> {
    let period = plan.watchdog.as_ref()?.time;
    let room = RoomTicks::new(project.sensor.as_ref()?, &plan.tick, period);
    let on = project.evening.map(|evening| evening.value.on);
    Some(Dusk::new(room, on, &plan.tick))
}

fn contacts(project: &Project, tick: &Tick) -> Vec<ContactTicks> {
    let contacts = project.contacts.iter().enumerate();
    let dims = |contact: &Contact| matches!(contact.taps(), Some(Tap::Brighter | Tap::Darker));
    contacts
        .filter(|(_, contact)| !dims(contact))
        .map(|(index, contact)| ContactTicks::new(index, contact, tick))
        .collect()
}
