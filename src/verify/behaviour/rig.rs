//! A chip with a finger on its button, for checks to act on.

use super::{Remembered, Wrong, ensure};
use crate::conduct::Saving;
use crate::conduct::fade::FadeStep;
use crate::design::Design;
use crate::input::button::ButtonTicks;
use crate::score::{ShowKind, ShowRange};
use crate::verify::bench::{Bench, Finger, Setup, Start};

/// Ticks for which the firmware may be behind.
pub(super) const SETTLED: f64 = 4.0;

/// How a contact bounces: from when to when it is the other way, in milliseconds after the first touch, and when it
/// stays so, in seconds.
pub(super) const BOUNCES: [(f64, f64); 4] = [(0.0, 0.7), (1.1, 2.0), (2.2, 4.5), (5.0, 5.3)];
pub(super) const BOUNCED: f64 = 6e-3;

/// Touches of contacts and switches that are too short, as a share of what the project wants.
pub(super) const BRUSHES: [f64; 3] = [0.3, 0.7, 0.95];

/// A chip that plays, and its button.
pub(super) struct Rig<'a> {
    setup: &'a Setup<'a>,
    pub bench: Bench<'a>,
    pub button: Button,
}

/// A project's button, with times in seconds.
pub(super) struct Button {
    /// What a press must last to be a tap, and a gap to end it, at most.
    pub debounce: f64,
    /// What the project wants of them: what is shorter does not count.
    pub least: f64,
    pub hold: f64,
    /// What a press must last for the light to go off; a hold is then known by its end.
    pub long: Option<f64>,
    /// Longer than a tap needs to be, and shorter than a hold.
    pub tap: f64,
    /// Three of these, each of which counts by itself, are shorter than a hold; if there is room.
    pub part: f64,
}

impl<'a> Rig<'a> {
    /// No press of these checks lasts longer, but for holds.
    pub(super) const LONGEST_PRESS: f64 = 1.0;

    /// A chip that has played some ticks since it was switched on. `None`: there is no button.
    pub(super) fn start(setup: &'a Setup<'a>, start: &Start) -> Result<Option<Self>, Wrong> {
        let Some(button) = Button::of(setup.design) else {
            return Ok(None);
        };
        let bench = setup.power_up(start)?;
        let mut rig = Self {
            setup,
            bench,
            button,
        };
        rig.bench.next_tick()?; // The first scene may take long to start.
        rig.settle(0.0)?;
        Ok(Some(rig))
    }

    /// A chip in which holds, or a switch, have led to a show.
    pub(super) fn in_show(setup: &'a Setup<'a>, show: u8) -> Result<Option<Self>, Wrong> {
        let start = Start {
            switch: show == 1,
            ..Start::default()
        };
        let Some(mut rig) = Self::start(setup, &start)? else {
            return Ok(None);
        };
        for _ in 0..setup.design.deck.image.score.shows.len() {
            if rig.remembered().show == show {
                return Ok(Some(rig));
            }
            rig.hold_until_show_changes()?;
            rig.release()?;
        }
        ensure(rig.remembered().show == show, || {
            format!("holds never lead to show {}", show + 1)
        })?;
        Ok(Some(rig))
    }

    pub(super) fn remembered(&mut self) -> Remembered {
        Remembered::of(&mut self.bench, self.setup.design)
    }

    pub(super) fn show(&mut self) -> ShowRange {
        let show = self.remembered().show;
        self.setup.design.deck.image.score.shows[usize::from(show)].clone()
    }

    /// What is remembered once a tap has had its effect; the generator is whatever it will be.
    pub(super) fn next_place(&mut self) -> Remembered {
        let count = self.show().count;
        let mut next = self.remembered();
        let place = &mut next.places[usize::from(next.show)];
        *place = (*place + 1) % count;
        next.generator = None;
        next
    }

    pub(super) fn next_show(&mut self) -> u8 {
        let shows = self.setup.design.deck.image.score.shows.len() as u8;
        (self.remembered().show + 1) % shows
    }

    /// Plays on for some seconds; what is remembered then, but for the generator.
    pub(super) fn watch(&mut self, seconds: f64) -> Result<Remembered, Wrong> {
        play_on(&mut self.bench, seconds)?;
        Ok(Remembered {
            generator: None,
            ..self.remembered()
        })
    }

    /// Closes the contact for some seconds, and plays on for a little while after.
    pub(super) fn press(&mut self, seconds: f64) -> Result<Remembered, Wrong> {
        let now = self.bench.seconds();
        self.bench.contact_at(now, true);
        self.bench.contact_at(now + seconds, false);
        self.settle(seconds)
    }

    /// Plays on until the contact has been open for long enough, some seconds from now.
    pub(super) fn settle(&mut self, seconds: f64) -> Result<Remembered, Wrong> {
        let settled = SETTLED * tick(self.setup.design);
        self.watch(seconds + self.button.debounce + settled)
    }

    /// Closes the contact and keeps it so, or for as short as it may be where a hold is known by its end; the
    /// seconds until the show changed.
    pub(super) fn hold_until_show_changes(&mut self) -> Result<f64, Wrong> {
        let before = self.remembered().show;
        let start = self.bench.seconds();
        self.bench.contact_at(start, true);
        if self.button.long.is_some() {
            self.bench
                .contact_at(start + self.button.shortest_hold(self.setup.design), false);
        }
        loop {
            let frame = self.bench.next_tick()?;
            let at = frame.started.map_or(frame.begun, |started| started.at);
            let held = self.bench.machine.seconds(at.0) - start;
            if self.remembered().show != before {
                return Ok(held);
            }
            ensure(held < 2.0 * self.button.hold + self.button.debounce, || {
                format!("a hold of {held:.1} s does not change the show")
            })?;
        }
    }

    /// Opens the contact and plays on for a little while.
    pub(super) fn release(&mut self) -> Result<Remembered, Wrong> {
        let now = self.bench.seconds();
        self.bench.contact_at(now, false);
        self.settle(0.0)
    }
}

impl Button {
    /// What surely is a hold.
    pub(super) fn shortest_hold(&self, design: &Design) -> f64 {
        self.hold + SETTLED * tick(design)
    }

    /// When a hold that begins now has its effect.
    pub(super) fn effect_of_hold(&self, design: &Design) -> f64 {
        match self.long {
            Some(_) => self.shortest_hold(design) + self.debounce,
            None => self.hold,
        }
    }

    pub(super) fn of(design: &Design) -> Option<Self> {
        let ButtonTicks {
            debounce,
            hold,
            long,
        } = design.firmware.button?;
        let seconds = |ticks: u16| f64::from(ticks) * tick(design);
        let (debounce, hold) = (seconds(debounce), seconds(hold));
        let least = design.project.button.as_ref()?.debounce.value.seconds();
        Some(Self {
            debounce,
            least,
            hold,
            long: long.map(seconds),
            tap: ((debounce + hold) / 2.0).min(debounce + 0.2),
            part: (debounce + 2.0 * tick(design)).min(0.3 * hold),
        })
    }
}

/// For how many seconds a show stays with a scene at least.
pub(super) fn calm(design: &Design, show: u8) -> f64 {
    let beats = &design.firmware.beats;
    let roams = design.deck.image.score.shows[usize::from(show)].kind == ShowKind::Roam;
    match beats.dwell.filter(|_| roams) {
        Some(dwell) => f64::from(u32::from(dwell.low - 1) * beats.ticks) * tick(design),
        None => f64::INFINITY,
    }
}

/// Closes or opens something, bouncing, from now on.
pub(super) fn bounce(bench: &mut Bench, what: Finger, closed: bool) {
    let now = bench.seconds();
    for (from, to) in BOUNCES {
        bench.close_at(now + from / 1e3, what, closed);
        bench.close_at(now + to / 1e3, what, !closed);
    }
    bench.close_at(now + BOUNCED, what, closed);
}

/// Seconds for which the light is dimmed before another scene starts.
pub(super) fn leaving(design: &Design) -> f64 {
    design.firmware.fade.map_or(0, FadeStep::ticks) as f64 * tick(design)
}

/// Taps the button at a moment to come, with the chip asleep; the seconds from there to the first tick.
pub(super) fn tap_awake(bench: &mut Bench, button: &Button, at: f64) -> Result<f64, Wrong> {
    bench.contact_at(at, true);
    bench.contact_at(at + button.tap, false);
    let frame = bench.next_tick()?;
    Ok(bench.machine.seconds(frame.begun.0) - at)
}

/// Plays on for some seconds.
pub(super) fn play_on(bench: &mut Bench, seconds: f64) -> Result<(), Wrong> {
    let end = bench.seconds() + seconds;
    while bench.seconds() < end {
        bench.next_tick()?;
    }
    Ok(())
}

/// The seconds of a tick.
pub(super) fn tick(design: &Design) -> f64 {
    design.plan.tick.seconds()
}

/// The seconds from a change until all of it has been saved.
pub(super) fn quiet(design: &Design) -> f64 {
    saving(design, Saving::after_change)
}

/// The seconds from power-up until its seed has been saved.
pub(super) fn at_once(design: &Design) -> f64 {
    saving(design, Saving::at_once)
}

fn saving(design: &Design, steps: impl Fn(Saving) -> u16) -> f64 {
    let ticks = |saving: Saving| saving.every * u32::from(steps(saving) + 1);
    let memory = design.firmware.memory.as_ref();
    let ticks = f64::from(memory.map_or(0, |memory| ticks(memory.saving))) + SETTLED;
    ticks * tick(design)
}
