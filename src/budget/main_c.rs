//! What avr-gcc makes of `main.c`, without asking it: a sum over what the file has in it, with
//! coefficients fitted from above to hundreds of compiled projects (`calibration.yaml`, made by
//! `cargo run --example calibrate`).

mod inputs;

use std::collections::{BTreeMap, BTreeSet};
use std::sync::LazyLock;

use serde::{Deserialize, Serialize};

use self::inputs::goes;
use crate::chip::{Core, Reach};
use crate::design::Design;
use crate::drive::Drive;
use crate::firmware::Home;
use crate::plan::Plan;
use crate::target::Write;
use crate::units::Bytes;

/// How many times something is in `main.c`.
pub type Features = BTreeMap<String, f64>;

/// What was fitted, and to what.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Calibration {
    /// The compiler that was measured.
    pub compiler: String,
    pub cores: BTreeMap<Core, Fit>,
    /// The same where the interrupt of a port, with timers or without, leaves the compiler fewer registers.
    pub on_a_port: BTreeMap<Core, Fit>,
}

/// The fit for one core.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fit {
    /// How many projects were compiled.
    pub projects: usize,
    /// Added to every estimate, in bytes: what projects that were not measured may need more.
    pub margin: f64,
    /// What each feature takes, in bytes.
    pub bytes: BTreeMap<String, f64>,
}

static CALIBRATION: LazyLock<Calibration> = LazyLock::new(|| {
    serde_yaml::from_str(include_str!("calibration.yaml")).expect("tested with every change of it")
});

/// What `main.c` takes, on the high side.
pub(super) fn estimate(design: &Design) -> Bytes {
    let core = design.plan.chip.core;
    let timers = &CALIBRATION.cores[&core];
    let fit = match design.plan.drive.planes() {
        None => timers,
        Some(_) => &CALIBRATION.on_a_port[&core],
    };
    // What was not measured beside a port is taken from beside timers, if it takes anything there.
    let other = |name: &String| timers.bytes.get(name).map_or(0.0, |bytes| bytes.max(0.0));
    let bytes = |name: &String| fit.bytes.get(name).copied().unwrap_or_else(|| other(name));
    let sum: f64 = features(design)
        .iter()
        .map(|(name, count)| bytes(name) * count)
        .sum();
    Bytes(even(sum + fit.margin))
}

/// The next whole number of words, in bytes.
fn even(bytes: f64) -> u32 {
    2 * (bytes.max(0.0) / 2.0).ceil() as u32
}

/// What decides the size of `main.c`.
pub fn features(design: &Design) -> Features {
    let mut tally = Tally::default();
    tally.flag("always", true);
    tally.set_up(design);
    tally.times(design);
    tally.shows(design);
    tally.button(design);
    tally.once(design);
    tally.further(design);
    tally.dimmer(design);
    tally.switch(design);
    tally.measured(design);
    tally.standby(design);
    tally.evening(design);
    tally.memory(design);
    tally.homes(design);
    tally.0
}

#[derive(Default)]
struct Tally(Features);

impl Tally {
    fn add(&mut self, name: &str, count: f64) {
        if count != 0.0 {
            *self.0.entry(name.to_string()).or_default() += count;
        }
    }

    fn flag(&mut self, name: &str, there: bool) {
        self.add(name, f64::from(u8::from(there)));
    }

    fn set_up(&mut self, design: &Design) {
        let drive = &design.plan.drive;
        self.flag("a port", drive.planes().is_some());
        self.flag("timers and a port", matches!(drive, Drive::Mixed(_)));
        let clock = design.plan.clock.prescaler_bits;
        self.flag("clock prescaler", clock.is_some());
        self.flag("clock prescaler, not 1", clock.is_some_and(|bits| bits > 0));
        self.flag("watchdog", design.plan.watchdog.is_some());
        for (name, count) in writes(&design.plan) {
            self.add(name, count);
        }
    }

    fn times(&mut self, design: &Design) {
        let firmware = &design.firmware;
        let fraction = design.plan.tick.fraction;
        let short = !design.plan.tick.is_fine();
        let several = design.plan.tick.waits > 1;
        self.flag("several waits a tick", several);
        self.flag("several waits, long fraction", several && !short);
        self.flag("tick with a short fraction", fraction != 0 && short);
        self.flag("tick with a long fraction", !short);
        self.flag(
            "tick with a long fraction, memory",
            !short && firmware.memory.is_some(),
        );
        let beats = firmware.has_beats();
        self.flag("beats", beats);
        let wide = beats && firmware.beats.is_wide();
        self.flag("beats, wide", wide);
        self.flag("beats, wide; tick with a long fraction", wide && !short);
        self.flag(
            "wide and long, memory",
            wide && !short && firmware.memory.is_some(),
        );
    }

    fn shows(&mut self, design: &Design) {
        let firmware = &design.firmware;
        let rules = &firmware.rules;
        let several = design.deck.image.score.shows.len() > 1;
        let fade = firmware.fade.is_some();
        self.flag("fade", fade);
        self.flag("fade and hops", fade && rules.hops());
        self.flag("hops", rules.hops());
        self.flag("hops, shows", rules.hops() && several);
        self.flag("roams", rules.roams());
        self.flag("roams, shows", rules.roams() && several);
        self.flag("roams, button", rules.roams() && firmware.button.is_some());
        self.flag(
            "streams, no roam",
            firmware.features.streams && rules.hops() && !rules.roams(),
        );
    }

    /// Of which most is assembly.
    fn standby(&mut self, design: &Design) {
        if !design.firmware.rules.stands_by() {
            return;
        }
        let firmware = &design.firmware;
        let rules = &firmware.rules;
        let fade = firmware.fade.is_some();
        self.flag("standby", true);
        self.flag("standby, fade", fade);
        self.flag("standby, fade, roams", fade && rules.roams());
        self.flag("standby, taps and holds", rules.taps() && rules.holds());
        self.flag("standby, holds alone", rules.holds() && !rules.taps());
        self.flag("standby alone", !rules.taps() && !rules.holds());
        self.flag("standby, starts dark", firmware.starts_dark);
        let directions = design.plan.drive.directions().len();
        self.add("standby, directions", directions as f64);
        if firmware.starts_dark {
            self.add("standby, starts dark, directions", directions as f64);
        }
    }

    /// Of which nearly all is assembly.
    fn evening(&mut self, design: &Design) {
        let firmware = &design.firmware;
        if !firmware.has_nights() {
            return;
        }
        let rules = &firmware.rules;
        let fade = firmware.fade.is_some();
        let standby = rules.stands_by();
        self.flag("evening", true);
        self.flag("evening, fade", fade);
        self.flag("evening, fade, roams", fade && rules.roams());
        self.flag("evening, fade, one scene", fade && !rules.hops());
        self.flag("evening, standby, fade", fade && standby);
        self.flag("evening, saves", firmware.memory.is_some());
        self.flag("evening, button", firmware.wakes && !standby);
        if !standby {
            let directions = design.plan.drive.directions().len();
            self.add("evening, directions", directions as f64);
        }
    }

    fn memory(&mut self, design: &Design) {
        let rules = &design.firmware.rules;
        let Some(memory) = &design.firmware.memory else {
            self.flag("state, forgotten", rules.hops());
            return;
        };
        self.flag("remembers", true);
        self.flag("remembers, draws", design.firmware.features.draws);
        self.flag("remembers choices", memory.choices);
        self.flag("remembers the generator, not the places", memory.forgets());
        self.flag("saves, wide", memory.saving.is_wide());
        self.flag(
            "saves within a beat",
            memory.saving.every < design.firmware.beats.ticks,
        );
        self.flag(
            "remembers, long EEPROM",
            design.plan.chip.eeprom.size.0 > 256,
        );
        self.flag("remembers, 256 bytes", memory.end.0 == 256);
        let state = memory.state.0;
        self.add(&format!("state of {}", state.min(6)), 1.0);
    }

    /// Where bytes live.
    fn homes(&mut self, design: &Design) {
        for variable in &design.firmware.variables {
            let contacts = &design.firmware.contacts;
            if let Some(contact) = contacts.iter().find(|known| known.name() == variable.name) {
                let near = variable.home != Home::Memory;
                let what = match goes(design, contact.index) {
                    true => "tap button at hand",
                    false => "once, contact at hand",
                };
                self.add(what, f64::from(u8::from(near)));
                continue;
            }
            if variable.name == "stepping" {
                self.flag("dimmer at hand", variable.home != Home::Memory);
                continue;
            }
            if variable.name == "turned" {
                self.flag("switch at hand", variable.home != Home::Memory);
                continue;
            }
            let home = match variable.home {
                Home::Register(_) => "in a register",
                Home::Io(_) => "in an I/O register",
                Home::Memory if variable.size == Bytes(1) => "in memory",
                Home::Memory => continue,
            };
            self.flag(&format!("{} {home}", variable.name), true);
        }
    }
}

/// Register writes by what they cost: `out` or `sts`, and a number to load the first time it is
/// written; zero is always at hand.
fn writes(plan: &Plan) -> Vec<(&'static str, f64)> {
    let all: Vec<Write> = plan.written().collect();
    let again = |reach: Reach| {
        let there = plan.refreshed();
        there
            .filter(|assign| (assign.reach == Reach::Memory) == (reach == Reach::Memory))
            .count()
    };
    let far = all
        .iter()
        .filter(|assign| assign.reach == Reach::Memory)
        .count();
    let numbers: BTreeSet<u8> = all
        .iter()
        .map(|assign| assign.value)
        .filter(|value| *value != 0)
        .collect();
    let started = plan.drive.start().go.len();
    vec![
        ("near writes", (all.len() - far) as f64),
        ("far writes", far as f64),
        ("numbers", numbers.len() as f64),
        ("near writes again", again(Reach::Out) as f64),
        ("far writes again", again(Reach::Memory) as f64),
        ("ports", plan.latches.len() as f64),
        ("directions", plan.drive.directions().len() as f64),
        (
            "timers started together",
            if started > 1 { started as f64 } else { 0.0 },
        ),
    ]
}
