//! The person's hand: on the button, at the contacts.

use super::Session;
use crate::input::Sensed;
use crate::spec::{CONTACTS, Tap};

/// A tap lasts at least this long, in seconds.
const TAP: f64 = 0.08;
/// Of a knob's way.
const EIGHTH: u8 = 32;

/// How the button is pressed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Press {
    Tap,
    Hold,
    Long,
}

/// What is down, and for how many ticks more.
#[derive(Debug, Clone, Copy)]
pub(super) struct Hand {
    pressed: u32,
    closed: [u32; CONTACTS],
    /// The switch is closed.
    pub(super) turned: bool,
    /// How far the knob is up.
    knob: u8,
    /// How dark it is around.
    room: u8,
    /// What is measured of the supply.
    cells: u8,
}

impl Default for Hand {
    fn default() -> Self {
        Self {
            pressed: 0,
            closed: [0; CONTACTS],
            turned: false,
            knob: u8::MAX,
            room: u8::MAX,
            cells: 0,
        }
    }
}

impl Hand {
    /// One tick on; what it has down.
    pub(super) fn tick(&mut self) -> Sensed {
        let contacts = self.closed.iter().enumerate();
        let mask = contacts.map(|(at, ticks)| u8::from(*ticks > 0) << at).sum();
        let sensed = Sensed {
            button: self.pressed > 0,
            contacts: mask,
            switch: self.turned,
            knob: self.knob,
            room: self.room,
            cells: self.cells,
        };
        self.pressed = self.pressed.saturating_sub(1);
        self.closed = self.closed.map(|ticks| ticks.saturating_sub(1));
        sensed
    }

    /// It lets go of all but the switch and the knob, and lets room and cells be as they are.
    pub(super) fn let_go(&mut self) {
        *self = Self {
            turned: self.turned,
            knob: self.knob,
            room: self.room,
            cells: self.cells,
            ..Self::default()
        };
    }

    /// Whether the button is down.
    pub(super) fn presses(self) -> bool {
        self.pressed > 0
    }
}

impl Session<'_> {
    pub(super) fn press(&mut self, press: Press) {
        let Some(button) = self.design.firmware.button else {
            self.news = "this project has no button, or nothing for it to do".to_string();
            return;
        };
        if self.pinned.is_some() {
            self.news = "one pattern is on by itself; r goes back to the shows".to_string();
            return;
        }
        let tick = self.design.grid.tick_seconds();
        let least = (TAP / tick).ceil() as u32;
        let (ticks, word) = match press {
            Press::Long => match button.long {
                Some(long) => (u32::from(long), "held"),
                None => {
                    self.news = "this project has no standby".to_string();
                    return;
                }
            },
            Press::Hold => (u32::from(button.hold), "held"),
            Press::Tap => {
                let most = u32::from(button.hold) - 1;
                let counts = u32::from(button.debounce);
                (least.clamp(counts, most.max(counts)), "tapped")
            }
        };
        self.hand.pressed = ticks;
        self.news = format!(
            "the button is {word} for {:.0} ms",
            f64::from(ticks) * tick * 1e3
        );
    }

    /// Taps the button that is brighter, or darker.
    pub(super) fn dim(&mut self, brighter: bool) {
        let tap = if brighter { Tap::Brighter } else { Tap::Darker };
        match self.design.project.tapped(tap) {
            Some(at) => self.close(at as u8),
            None => self.news = "this project has no buttons for its brightness".to_string(),
        }
    }

    /// Closes a contact, or taps a further button, for as long as it must be.
    pub(super) fn close(&mut self, contact: u8) {
        let at = usize::from(contact);
        let design = self.design;
        let (Some(debounce), Some(written)) = (
            design.firmware.contact_debounce(contact),
            design.project.contacts.get(at),
        ) else {
            self.news = format!("this project has no contact {}", contact + 1);
            return;
        };
        if self.pinned.is_some() {
            self.news = "one pattern is on by itself; r goes back to the shows".to_string();
            return;
        }
        self.hand.closed[at] = u32::from(debounce);
        self.news = match written.taps() {
            Some(tap) => format!("`{}` {}", written.name.value, tap.does()),
            None => format!("`{}` closes", written.name.value),
        };
    }

    /// Makes it bright around, or dark again.
    pub(super) fn draw_curtains(&mut self) {
        let Some(sensor) = &self.design.project.sensor else {
            self.news = "this project has no sensor of light".to_string();
            return;
        };
        self.hand.room = match self.hand.room {
            0 => u8::MAX,
            _ => 0,
        };
        let way = if self.hand.room == 0 {
            "bright"
        } else {
            "dark"
        };
        self.news = format!("it is {way} around `{}`", sensor.name.value);
    }

    /// From fresh cells to low ones, from those to spent ones; then it changes them, and the light is switched on anew.
    pub(super) fn run_down(&mut self) {
        let Some(rules) = self.design.firmware.cells else {
            self.news = "this project has no guard".to_string();
            return;
        };
        let limits = rules.limits;
        let (measured, now) = match self.hand.cells {
            fresh if fresh < limits.dim => (limits.dim, "low"),
            low if low < limits.off => (limits.off, "spent"),
            _ => (0, "new"),
        };
        self.hand.cells = measured;
        if measured == 0 {
            self.power_up("the cells are new; all starts as when power comes");
        } else {
            self.news = format!("the cells are {now}");
        }
    }

    /// Turns the knob by an eighth.
    pub(super) fn turn_knob(&mut self, up: bool) {
        let Some(knob) = &self.design.project.knob else {
            self.news = "this project has no knob".to_string();
            return;
        };
        let at = self.hand.knob;
        self.hand.knob = match up {
            true => at.saturating_add(EIGHTH),
            false => at.saturating_sub(EIGHTH),
        };
        let share = f64::from(self.hand.knob) / f64::from(u8::MAX) * 100.0;
        self.news = format!("`{}` is at {share:.0} %", knob.name.value);
    }

    /// Turns the switch.
    pub(super) fn turn(&mut self) {
        let Some(selector) = &self.design.project.selector else {
            self.news = "this project has no switch".to_string();
            return;
        };
        self.hand.turned = !self.hand.turned;
        let way = if self.hand.turned { "closed" } else { "open" };
        self.news = format!("`{}` is {way}", selector.name.value);
    }
}
