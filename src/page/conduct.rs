//! What the light does by itself and by its inputs, for the page to do the same: the firmware's rules and measures.

use serde::Serialize;

use crate::conduct::fade::FadeStep;
use crate::conduct::{Action, Cause, Dwell};
use crate::design::Design;
use crate::input::Event;
use crate::input::button::ButtonTicks;
use crate::input::cells::LOOKS;
use crate::input::dimmer::DimmerTicks;
use crate::input::knob::{ENDS, PLAY};
use crate::score::{Origin, ShowKind};
use crate::spec::PatternId;
use crate::target::Measured;

/// What `templates/page/light.js` goes by. Times are ticks.
#[derive(Serialize)]
pub(super) struct Conduct {
    /// By scene, its place among what the page plays.
    plays: Vec<usize>,
    shows: Vec<Show>,
    rules: Rules,
    /// How much of 65 536 the light comes or goes in a tick. `None`: scenes change at once.
    fade: Option<u16>,
    /// Of a beat.
    beat: u32,
    /// In beats.
    dwell: Option<Dwell>,
    button: Option<ButtonTicks>,
    /// By contact: how long it is closed, or open, before that counts.
    contacts: Vec<u16>,
    dimmer: Option<Dimmer>,
    switch: Option<u16>,
    evening: Option<Evening>,
    dusk: Option<Dusk>,
    /// What is measured, in turn.
    measures: Vec<Measured>,
    knob: Option<Knob>,
    cells: Option<Cells>,
    /// Show, place and brightness outlast a standby.
    remembers: bool,
    starts_dark: bool,
    /// A press ends the dark.
    wakes: bool,
}

#[derive(Serialize)]
struct Show {
    kind: ShowKind,
    first: u8,
    count: u8,
}

/// What follows from what; `None`: nothing does.
#[derive(Serialize)]
struct Rules {
    begin: Option<Action>,
    tap: Option<Action>,
    hold: Option<Action>,
    long_hold: Option<Action>,
    closed: Vec<Option<Action>>,
    /// Opened, and closed.
    turned: [Option<Action>; 2],
    once_over: Option<Action>,
    dwell_over: Option<Action>,
    evening_over: Option<Action>,
    cells_spent: Option<Action>,
    /// The light ever goes on to another scene.
    hops: bool,
}

#[derive(Serialize)]
struct Evening {
    on: u32,
    night: u32,
}

#[derive(Serialize)]
struct Dusk {
    /// `None`: as long as it is dark around.
    on: Option<u32>,
    steady: u16,
}

#[derive(Serialize)]
struct Dimmer {
    #[serde(flatten)]
    ticks: DimmerTicks,
    full: u16,
    again: u16,
}

#[derive(Serialize)]
struct Knob {
    step: u8,
    /// It is how much of the light is there; else how fast patterns go.
    dims: bool,
    ends: u8,
    play: u8,
}

/// What is measured of cells that are low and spent, and what is let through of the light when they are low.
#[derive(Serialize)]
struct Cells {
    low: u8,
    spent: u8,
    looks: u16,
    dimmed: u8,
}

/// Something to press.
#[derive(Serialize)]
pub(super) struct Control {
    /// What the player knows it by.
    pub does: String,
    pub label: String,
    /// Its key.
    pub key: char,
    /// It stays where it is put.
    pub stays: bool,
}

/// `patterns`: what the page plays, patterns first and then the levels of steady shows.
pub(super) fn conduct(design: &Design, patterns: &[PatternId]) -> Conduct {
    let score = &design.deck.image.score;
    let firmware = &design.firmware;
    let mut levels = patterns.len()..;
    let plays = score.scenes.iter().map(|scene| match scene.origin {
        Origin::Pattern(id) => {
            let place = patterns.iter().position(|known| *known == id);
            place.expect("a scene's pattern is played")
        }
        Origin::Steady(_) => levels.next().expect("there is no last number"),
    });
    Conduct {
        plays: plays.collect(),
        shows: (score.shows.iter())
            .map(|show| Show {
                kind: show.kind,
                first: show.first,
                count: show.count,
            })
            .collect(),
        rules: rules(design),
        fade: firmware.fade.map(|FadeStep(step)| step),
        beat: firmware.beats.ticks,
        dwell: firmware.beats.dwell,
        button: firmware.button,
        contacts: (0..design.project.contacts.len() as u8)
            .filter_map(|at| firmware.contact_debounce(at))
            .collect(),
        dimmer: firmware.dimmer.map(|ticks| Dimmer {
            ticks,
            full: ticks.full(),
            again: ticks.again(),
        }),
        switch: firmware.switch.map(|switch| switch.debounce),
        evening: firmware.evening.map(|evening| Evening {
            on: evening.on.0,
            night: evening.night.0,
        }),
        dusk: firmware.dusk.map(|dusk| Dusk {
            on: dusk.on.map(|on| on.0),
            steady: dusk.room.steady,
        }),
        measures: firmware.measures.clone(),
        knob: firmware.knob.map(|knob| Knob {
            step: knob.step,
            dims: firmware.dim_knob().is_some(),
            ends: ENDS,
            play: PLAY,
        }),
        cells: firmware.cells.map(|rules| Cells {
            low: rules.limits.dim,
            spent: rules.limits.off,
            looks: LOOKS,
            dimmed: rules.dimmed.0,
        }),
        remembers: firmware.remembers_choices(),
        starts_dark: firmware.starts_dark,
        wakes: firmware.wakes,
    }
}

fn rules(design: &Design) -> Rules {
    let rules = &design.firmware.rules;
    let by = |event| rules.action(Cause::Input(event));
    let contacts = 0..design.project.contacts.len() as u8;
    Rules {
        begin: rules.action(Cause::Begin),
        tap: by(Event::Tap),
        hold: by(Event::Hold),
        long_hold: by(Event::LongHold),
        closed: contacts.map(|contact| by(Event::Closed(contact))).collect(),
        turned: [false, true].map(|closed| by(Event::Turned(closed))),
        once_over: rules.action(Cause::OnceOver),
        dwell_over: rules.action(Cause::DwellOver),
        evening_over: rules.action(Cause::EveningOver),
        cells_spent: rules.action(Cause::CellsSpent),
        hops: rules.hops(),
    }
}

/// All that can be pressed, as people call it.
pub(super) fn controls(design: &Design) -> Vec<Control> {
    let rules = rules(design);
    let mut all = Vec::new();
    let mut control = |does: &str, label: String, key: char, stays: bool| {
        all.push(Control {
            does: does.to_string(),
            label,
            key,
            stays,
        });
    };
    let alone = !rules.hops && rules.begin.is_none() && rules.evening_over.is_none();
    let inputs = design.project.contacts.len() + usize::from(design.firmware.button.is_some());
    let measured = design.firmware.measures();
    if !alone || inputs > 0 || measured {
        control("begin", "Switch on".to_string(), 'r', false);
    }
    if rules.tap.is_some() || design.firmware.wakes {
        control("tap", "Tap".to_string(), 't', false);
    }
    if rules.hold.is_some() {
        control("hold", "Hold".to_string(), 'h', false);
    }
    if let (Some(_), Some(standby)) = (rules.long_hold, &design.project.standby) {
        let label = format!("Hold {}", standby.value.hold);
        control("long", label, 'o', false);
    }
    for (at, contact) in design.project.contacts.iter().enumerate() {
        let key = char::from(b'1' + at as u8);
        control(
            &format!("contact {at}"),
            contact.name.value.clone(),
            key,
            false,
        );
    }
    if let Some(selector) = &design.project.selector {
        control("switch", selector.name.value.clone(), 'w', true);
    }
    if let Some(sensor) = &design.project.sensor {
        control(
            "sensor",
            format!("{}: bright", sensor.name.value),
            'b',
            true,
        );
    }
    if let Some(knob) = &design.project.knob {
        let name = &knob.name.value;
        control("knob -32", format!("{name} down"), '[', false);
        control("knob 32", format!("{name} up"), ']', false);
    }
    if design.project.guard.is_some() {
        control("cells 0", "new cells".to_string(), 'c', false);
        control("cells 1", "low cells".to_string(), 'v', false);
        control("cells 2", "spent cells".to_string(), 'x', false);
    }
    all
}
