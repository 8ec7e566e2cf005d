//! The button: taps, holds, and contacts that bounce.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::rig::{Rig, calm, play_on, tick};
use super::{Finding, Remembered, ensure};
use crate::score::ShowRange;
use crate::verify::Outcome;
use crate::verify::bench::{Setup, Start};

const NO_BUTTON: Outcome = Outcome::NotApplicable("there is no button");
const NO_TAPS: Outcome = Outcome::NotApplicable("no show has more than one scene");
const NO_HOLDS: Outcome = Outcome::NotApplicable("there is only one show");
const RESTLESS: Outcome = Outcome::NotApplicable("roam moves on too soon to tell");

/// For how many milliseconds contacts bounce.
const BURSTS: std::ops::RangeInclusive<u32> = 1..=15;
/// Edges within a burst are so many microseconds apart.
const CHATTER: std::ops::Range<u32> = 60..900;

pub(super) fn tap(setup: &Setup) -> Finding {
    let mut rig = match tapping(setup)? {
        Ok(rig) => rig,
        Err(outcome) => return Ok(outcome),
    };
    let count = rig.show().count;
    let rounds = u32::from(count) + 1;
    for _ in 0..rounds {
        let expected = rig.next_place();
        let found = rig.press(rig.button.tap)?;
        ensure(found == expected, || {
            format!(
                "after a tap of {:.0} ms: {}",
                rig.button.tap * 1e3,
                found.unlike(&expected)
            )
        })?;
    }
    Ok(Outcome::Holds(format!(
        "{rounds} taps went through {count} scenes and on with the first"
    )))
}

pub(super) fn hold(setup: &Setup) -> Finding {
    let mut rig = match holding(setup)? {
        Ok(rig) => rig,
        Err(outcome) => return Ok(outcome),
    };
    let shows = setup.design.deck.image.score.shows.len();
    let hold = rig.button.effect_of_hold(setup.design);
    let mut least = f64::MAX;
    let mut most = 0.0_f64;
    for _ in 0..=shows {
        let expected = rig.next_show();
        let after = rig.hold_until_show_changes()?;
        (least, most) = (least.min(after), most.max(after));
        ensure((after - hold).abs() <= 3.0 * tick(setup.design), || {
            format!("the show changes after {after:.3} s, not {hold:.3} s")
        })?;
        let found = rig.release()?;
        ensure(found.show == expected, || {
            format!("a hold leads to show {}, not {expected}", found.show)
        })?;
    }
    Ok(Outcome::Holds(format!(
        "{} holds went through {shows} shows, each after {least:.3} to {most:.3} s",
        shows + 1
    )))
}

pub(super) fn bounce(setup: &Setup) -> Finding {
    let mut rig = match tapping(setup)? {
        Ok(rig) => rig,
        Err(outcome) => return Ok(outcome),
    };
    let mut noise = StdRng::seed_from_u64(1);
    let mut edges = 0;
    let mut longest = 0;
    for burst in BURSTS {
        let length = f64::from(burst) / 1e3;
        if length >= rig.button.debounce {
            break;
        }
        let now = rig.bench.seconds();
        let pressed = now + length;
        let released = pressed + rig.button.tap;
        let expected = rig.next_place();
        edges += chatter(&mut rig, &mut noise, now, pressed, true);
        edges += chatter(&mut rig, &mut noise, released, released + length, false);
        let found = rig.settle(2.0 * length + rig.button.tap)?;
        ensure(found == expected, || {
            format!("with bursts of {burst} ms: {}", found.unlike(&expected))
        })?;
        longest = burst;
    }
    if longest == 0 {
        return Ok(Outcome::NotApplicable("the debounce time is under 2 ms"));
    }
    Ok(Outcome::Holds(format!(
        "{longest} taps with bursts of 1 to {longest} ms at both ends ({edges} edges) went on by one \
         scene each"
    )))
}

/// Has the contact chatter between two times, and then stay; the number of edges.
fn chatter(rig: &mut Rig, noise: &mut StdRng, from: f64, to: f64, down: bool) -> u32 {
    let mut at = from;
    let mut contact = down;
    let mut edges = 0;
    while at < to {
        rig.bench.contact_at(at, contact);
        contact = !contact;
        edges += 1;
        at += f64::from(noise.random_range(CHATTER)) / 1e6;
    }
    rig.bench.contact_at(to, down);
    edges + u32::from(contact == down)
}

/// Gaps within a press, as a share of what the project takes for one.
const GAPS: [f64; 6] = [0.04, 0.1, 0.25, 0.5, 0.8, 0.98];

pub(super) fn gap(setup: &Setup) -> Finding {
    let mut rig = match tapping(setup)? {
        Ok(rig) => rig,
        Err(outcome) => return Ok(outcome),
    };
    let mut longest = 0.0_f64;
    for share in GAPS {
        let length = share * rig.button.least;
        let expected = rig.next_place();
        let now = rig.bench.seconds();
        // Two such gaps, each in a press that would count by itself.
        let part = rig.button.part;
        for press in 0..3 {
            let at = now + f64::from(press) * (part + length);
            rig.bench.contact_at(at, true);
            rig.bench.contact_at(at + part, false);
        }
        let found = rig.settle(3.0 * part + 2.0 * length)?;
        ensure(found == expected, || {
            format!(
                "with gaps of {:.1} ms: {}",
                length * 1e3,
                found.unlike(&expected)
            )
        })?;
        longest = longest.max(length);
    }
    Ok(Outcome::Holds(format!(
        "{} taps with gaps of up to {:.1} ms went on by one scene each",
        GAPS.len(),
        longest * 1e3
    )))
}

/// Presses that are too short, as a share of what the project wants.
const BRUSHES: [f64; 4] = [0.3, 0.6, 0.8, 0.98];

pub(super) fn brush(setup: &Setup) -> Finding {
    let mut rig = match tapping(setup)? {
        Ok(rig) => rig,
        Err(outcome) => return Ok(outcome),
    };
    let mut longest = 0.0_f64;
    for share in BRUSHES {
        let length = share * rig.button.least;
        let before = rig.remembered().choice();
        let found = rig.press(length)?.choice();
        ensure(found == before, || {
            format!("a press of {:.1} ms has an effect", length * 1e3)
        })?;
        longest = longest.max(length);
    }
    Ok(Outcome::Holds(format!(
        "{} presses of up to {:.1} ms",
        BRUSHES.len(),
        longest * 1e3
    )))
}

pub(super) fn long_hold(setup: &Setup) -> Finding {
    let mut rig = match holding(setup)? {
        Ok(rig) => rig,
        Err(outcome) => return Ok(outcome),
    };
    if rig.button.long.is_some() {
        return Ok(Outcome::NotApplicable("a hold is known by its end"));
    }
    let length = 2.5 * rig.button.hold;
    rig.hold_until_show_changes()?;
    let changed = rig.remembered();
    if calm(setup.design, changed.show) < length {
        return Ok(RESTLESS);
    }
    play_on(&mut rig.bench, length)?;
    let held = rig.remembered();
    ensure(held.choice() == changed.choice(), || {
        format!("going on holding: {}", held.unlike(&changed))
    })?;
    let released = rig.release()?;
    ensure(released.choice() == changed.choice(), || {
        format!("letting go: {}", released.unlike(&changed))
    })?;
    Ok(Outcome::Holds(format!(
        "holding on for {length:.1} s more, and letting go"
    )))
}

pub(super) fn held_at_power_up(setup: &Setup) -> Finding {
    if setup.design.firmware.starts_dark {
        return Ok(Outcome::NotApplicable("it is off when power comes"));
    }
    let start = Start {
        button_down: true,
        ..Start::default()
    };
    let Some(mut rig) = Rig::start(setup, &start)? else {
        return Ok(NO_BUTTON);
    };
    let length = 1.5 * rig.button.hold;
    if calm(setup.design, 0) < length {
        return Ok(RESTLESS);
    }
    let before = rig.remembered();
    play_on(&mut rig.bench, length)?;
    let held = rig.remembered();
    ensure(held.choice() == before.choice(), || {
        format!("while it is held: {}", held.unlike(&before))
    })?;
    let released = rig.release()?;
    ensure(released.choice() == before.choice(), || {
        format!("when it is let go: {}", released.unlike(&before))
    })?;
    Ok(Outcome::Holds(format!(
        "held for {length:.1} s, then let go"
    )))
}

/// A rig on which a tap can be seen.
fn tapping<'a>(setup: &'a Setup<'a>) -> Result<Result<Rig<'a>, Outcome>, super::Wrong> {
    let rules = &setup.design.firmware.rules;
    if setup.design.plan.button.is_none() {
        return Ok(Err(NO_BUTTON));
    }
    if !rules.taps() {
        return Ok(Err(NO_TAPS));
    }
    let shows = &setup.design.deck.image.score.shows;
    let several = |show: &ShowRange| show.count > 1;
    let restful = |&index: &usize| {
        several(&shows[index]) && calm(setup.design, index as u8) > Rig::LONGEST_PRESS
    };
    let Some(show) = (0..shows.len()).find(restful) else {
        return Ok(Err(RESTLESS));
    };
    Ok(Rig::in_show(setup, show as u8)?.ok_or(NO_BUTTON))
}

/// A rig on which a hold can be seen.
fn holding<'a>(setup: &'a Setup<'a>) -> Result<Result<Rig<'a>, Outcome>, super::Wrong> {
    if setup.design.plan.button.is_none() {
        return Ok(Err(NO_BUTTON));
    }
    if !setup.design.firmware.rules.holds() {
        return Ok(Err(NO_HOLDS));
    }
    Ok(Rig::start(setup, &Start::default())?.ok_or(NO_BUTTON))
}

impl Remembered {
    fn unlike(&self, expected: &Self) -> String {
        format!(
            "show {}, scene {} of it, not show {}, scene {}",
            self.show + 1,
            self.place() + 1,
            expected.show + 1,
            expected.place() + 1
        )
    }
}
