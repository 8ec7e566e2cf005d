//! Buttons that make all light brighter and darker, and those that go from scene to scene.

use super::rig::{self, BOUNCED, BRUSHES, Rig, SETTLED, calm, play_on, quiet, tick};
use super::standby;
use super::{Finding, Remembered, Wrong, ensure};
use crate::conduct::{Action, Cause, Onward};
use crate::design::Design;
use crate::input::Event;
use crate::input::dimmer::DimmerTicks;
use crate::score::ShowRange;
use crate::units::Level;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Finger, Setup, Start};

const NO_DIMMER: Outcome = Outcome::NotApplicable("no buttons set the brightness");
const NO_BUTTON: Outcome = Outcome::NotApplicable("no further button goes from scene to scene");

/// Presses beyond either end.
const BEYOND: u8 = 3;
/// Steps for which a button is held.
const HELD: u16 = 4;
/// Seconds for which it is off while a button is pressed.
const ASLEEP: f64 = 3.0;

/// A chip that plays, and its two buttons.
struct Dimmer<'a> {
    setup: &'a Setup<'a>,
    bench: Bench<'a>,
    ticks: DimmerTicks,
}

/// What a button does, and where it is.
#[derive(Clone, Copy)]
enum Way {
    Brighter,
    Darker,
}

impl<'a> Dimmer<'a> {
    /// `None`: there is none.
    fn start(setup: &'a Setup<'a>, start: &Start) -> Result<Option<Self>, Wrong> {
        let Some(ticks) = setup.design.firmware.dimmer else {
            return Ok(None);
        };
        let mut bench = setup.power_up(start)?;
        bench.next_tick()?;
        let mut dimmer = Self {
            setup,
            bench,
            ticks,
        };
        dimmer.play(dimmer.settles())?;
        Ok(Some(dimmer))
    }

    fn finger(&self, way: Way) -> Finger {
        Finger::Contact(match way {
            Way::Brighter => self.ticks.brighter,
            Way::Darker => self.ticks.darker,
        })
    }

    fn play(&mut self, seconds: f64) -> Result<(), Wrong> {
        play_on(&mut self.bench, seconds)
    }

    /// Seconds for which a button must be down to count, or up.
    fn settles(&self) -> f64 {
        (f64::from(self.ticks.debounce) + SETTLED) * tick(self.setup.design)
    }

    /// What the buttons have taken of the light, in steps.
    fn taken(&mut self) -> u8 {
        Remembered::of(&mut self.bench, self.setup.design).dimmed / self.ticks.step
    }

    /// Has a button down for some seconds and then up for long enough.
    fn press(&mut self, way: Way, seconds: f64) -> Result<u8, Wrong> {
        let (now, finger) = (self.bench.seconds(), self.finger(way));
        self.bench.close_at(now, finger, true);
        self.bench.close_at(now + seconds, finger, false);
        self.play(seconds + self.settles())?;
        Ok(self.taken())
    }

    fn tap(&mut self, way: Way) -> Result<u8, Wrong> {
        self.press(way, self.settles())
    }
}

pub(super) fn steps(setup: &Setup) -> Finding {
    let Some(mut dimmer) = Dimmer::start(setup, &Start::default())? else {
        return Ok(NO_DIMMER);
    };
    let last = dimmer.ticks.steps() - 1;
    for (way, ends) in [(Way::Darker, last), (Way::Brighter, 0)] {
        for press in 1..=last + BEYOND {
            let wanted = match way {
                Way::Darker => press.min(last),
                Way::Brighter => last.saturating_sub(press),
            };
            let taken = dimmer.tap(way)?;
            ensure(taken == wanted, || {
                format!("after {press} taps {taken} steps are taken, not {wanted}")
            })?;
        }
        let taken = dimmer.taken();
        ensure(taken == ends, || {
            format!("at the end {taken} steps are taken")
        })?;
    }
    let least = least(setup.design, dimmer.ticks);
    ensure(least.0 > 0, || "the least step is dark".to_string())?;
    Ok(Outcome::Holds(format!(
        "{last} taps down and {last} up, a step each, and {BEYOND} more at either end: none; at the least, level {} of {}",
        least.0,
        setup.design.project.brightness.levels.value - 1
    )))
}

/// What the least step leaves of full light.
fn least(design: &Design, ticks: DimmerTicks) -> Level {
    let full = Level((design.project.brightness.levels.value - 1) as u8);
    crate::input::dimmer::Dimmed(ticks.most).gain().dim(full)
}

pub(super) fn held(setup: &Setup) -> Finding {
    let Some(mut dimmer) = Dimmer::start(setup, &Start::default())? else {
        return Ok(NO_DIMMER);
    };
    let design = setup.design;
    let pace = f64::from(dimmer.ticks.repeat) * tick(design);
    let (now, finger) = (dimmer.bench.seconds(), dimmer.finger(Way::Darker));
    let steps = u16::from(dimmer.ticks.steps() - 1).min(HELD);
    dimmer.bench.close_at(now, finger, true);
    let mut last = None;
    for step in 1..=steps {
        while u16::from(dimmer.taken()) < step {
            let waits = dimmer.bench.seconds() - last.unwrap_or(now);
            ensure(waits < pace + dimmer.settles(), || {
                format!("held for {waits:.2} s, no further step comes")
            })?;
            dimmer.bench.next_tick()?;
        }
        let at = dimmer.bench.seconds();
        if let Some(last) = last {
            let took: f64 = at - last;
            ensure((took - pace).abs() <= 2.0 * tick(design), || {
                format!("steps are {took:.3} s apart, not {pace:.3} s")
            })?;
        }
        last = Some(at);
    }
    let now = dimmer.bench.seconds();
    dimmer.bench.close_at(now, finger, false);
    let before = dimmer.taken();
    dimmer.play(2.0 * pace)?;
    let after = dimmer.taken();
    ensure(after == before, || "let go, it goes on".to_string())?;
    Ok(Outcome::Holds(format!(
        "{steps} steps {pace:.3} s apart, and none once it is let go"
    )))
}

pub(super) fn touched(setup: &Setup) -> Finding {
    let Some(mut dimmer) = Dimmer::start(setup, &Start::default())? else {
        return Ok(NO_DIMMER);
    };
    let contacts = &setup.design.project.contacts;
    let least = contacts[usize::from(dimmer.ticks.darker)].debounce.value;
    for share in BRUSHES {
        let taken = dimmer.press(Way::Darker, share * least.seconds())?;
        ensure(taken == 0, || {
            format!("a touch of {share} of debounce counts")
        })?;
    }
    let (finger, settles) = (dimmer.finger(Way::Darker), dimmer.settles());
    rig::bounce(&mut dimmer.bench, finger, true);
    dimmer.play(BOUNCED + settles)?;
    rig::bounce(&mut dimmer.bench, finger, false);
    dimmer.play(BOUNCED + 2.0 * settles)?;
    let taken = dimmer.taken();
    ensure(taken == 1, || {
        format!("a tap that bounces takes {taken} steps")
    })?;
    let (now, other) = (dimmer.bench.seconds(), dimmer.finger(Way::Brighter));
    for (at, down) in [(now, true), (now + 2.0 * settles, false)] {
        dimmer.bench.close_at(at, finger, down);
        dimmer.bench.close_at(at, other, down);
    }
    dimmer.play(3.0 * settles)?;
    let taken = dimmer.taken();
    ensure(taken == 1, || "both at once do something".to_string())?;
    down_at_power_up(setup)?;
    Ok(Outcome::Holds(format!(
        "a tap that bounces at both ends is a step; {} touches, both at once, and one that is down at power-up are none",
        BRUSHES.len()
    )))
}

fn down_at_power_up(setup: &Setup) -> Result<(), Wrong> {
    let Some(ticks) = setup.design.firmware.dimmer else {
        return Ok(());
    };
    let start = Start {
        contacts: 1 << ticks.darker,
        ..Start::default()
    };
    let Some(mut dimmer) = Dimmer::start(setup, &start)? else {
        return Ok(());
    };
    let pace = f64::from(ticks.repeat) * tick(setup.design);
    dimmer.play(2.0 * pace)?;
    let taken = dimmer.taken();
    ensure(taken == 0, || "down at power-up it takes steps".to_string())?;
    let now = dimmer.bench.seconds();
    let finger = dimmer.finger(Way::Darker);
    dimmer.bench.close_at(now, finger, false);
    dimmer.play(dimmer.settles())?;
    let taken = dimmer.tap(Way::Darker)?;
    ensure(taken == 1, || {
        "let go and tapped, it takes no step".to_string()
    })
}

pub(super) fn survives(setup: &Setup) -> Finding {
    let design = setup.design;
    let Some(mut dimmer) = Dimmer::start(setup, &Start::default())? else {
        return Ok(NO_DIMMER);
    };
    dimmer.tap(Way::Darker)?;
    let before = dimmer.tap(Way::Darker)?;
    dimmer.play(quiet(design))?;
    let eeprom = dimmer.bench.machine.eeprom().to_vec();
    let start = Start {
        eeprom,
        noise: 1,
        ..Start::default()
    };
    let Some(mut again) = Dimmer::start(setup, &start)? else {
        return Ok(NO_DIMMER);
    };
    let (after, keeps) = (again.taken(), design.firmware.remembers_choices());
    let wanted = if keeps { before } else { 0 };
    ensure(after == wanted, || {
        format!("with {before} steps taken, the power cut and on again: {after}")
    })?;
    Ok(Outcome::Holds(match keeps {
        true => format!("{before} steps taken before, and after"),
        false => "nothing is remembered: it is full again".to_string(),
    }))
}

pub(super) fn asleep(setup: &Setup) -> Finding {
    let Some(ticks) = setup.design.firmware.dimmer else {
        return Ok(NO_DIMMER);
    };
    let Some((mut rig, long)) = standby::rig(setup, &Start::default())? else {
        return Ok(standby::NO_STANDBY);
    };
    let (now, finger) = (rig.bench.seconds(), Finger::Contact(ticks.darker));
    let settles = (f64::from(ticks.debounce) + SETTLED) * tick(setup.design);
    rig.bench.close_at(now, finger, true);
    rig.bench.close_at(now + settles, finger, false);
    let before = rig.settle(settles)?.dimmed;
    standby::switch_off(setup, &mut rig, long)?;
    let now = rig.bench.seconds();
    rig.bench.close_at(now + 0.5, finger, true);
    rig.bench.close_at(now + 1.0, finger, false);
    rig.bench.leave_off(ASLEEP)?;
    standby::switch_on(setup, &mut rig)?;
    let after = rig.settle(rig.button.tap)?.dimmed;
    let keeps = setup.design.firmware.remembers_choices();
    let wanted = if keeps { before } else { 0 };
    ensure(after == wanted && before > 0, || {
        "a press in the dark changes the brightness".to_string()
    })?;
    Ok(Outcome::Holds(
        "pressed while it is off, it stays off, and is later as bright as it would have been"
            .to_string(),
    ))
}

/// A further button that goes from scene to scene.
struct Goes {
    what: Finger,
    name: String,
    back: bool,
    debounce: f64,
}

fn goes(design: &Design) -> Vec<Goes> {
    let all = design.firmware.contacts.iter();
    all.filter_map(|ticks| {
        let cause = Cause::Input(Event::Closed(ticks.index));
        let back = match design.firmware.rules.action(cause)? {
            Action::Go(Onward::NextScene) => false,
            Action::Go(Onward::PreviousScene) => true,
            _ => return None,
        };
        let written = &design.project.contacts[usize::from(ticks.index)];
        Some(Goes {
            what: Finger::Contact(ticks.index),
            name: written.name.value.clone(),
            back,
            debounce: (f64::from(ticks.debounce) + SETTLED) * tick(design),
        })
    })
    .collect()
}

pub(super) fn further(setup: &Setup) -> Finding {
    let design = setup.design;
    let buttons = goes(design);
    if buttons.is_empty() {
        return Ok(NO_BUTTON);
    }
    let several = |show: &ShowRange| show.count > 1;
    let first = &design.deck.image.score.shows[0];
    if !several(first) || calm(design, 0) < Rig::LONGEST_PRESS {
        return Ok(Outcome::NotApplicable(
            "the first show has one scene, or moves on too soon to tell",
        ));
    }
    let mut taps = 0;
    for button in &buttons {
        let mut bench = setup.power_up(&Start::default())?;
        bench.next_tick()?;
        play_on(&mut bench, button.debounce)?;
        for _ in 0..=first.count {
            let before = Remembered::of(&mut bench, design).place();
            let by = if button.back { first.count - 1 } else { 1 };
            let wanted = (before + by) % first.count;
            let now = bench.seconds();
            rig::bounce(&mut bench, button.what, true);
            bench.close_at(now + BOUNCED + button.debounce, button.what, false);
            play_on(&mut bench, BOUNCED + 2.0 * button.debounce)?;
            taps += 1;
            let place = Remembered::of(&mut bench, design).place();
            ensure(place == wanted, || {
                format!(
                    "`{}` goes from scene {before} to {place}, not {wanted}",
                    button.name
                )
            })?;
        }
    }
    Ok(Outcome::Holds(format!(
        "{taps} taps, each bouncing, by {} buttons went round {} scenes",
        buttons.len(),
        first.count
    )))
}
