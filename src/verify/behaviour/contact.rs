//! What is played once: by contact, and when power comes.

use super::rig::{self, BOUNCED, BOUNCES, BRUSHES, SETTLED, calm, leaving, play_on, tick};
use super::{Finding, Remembered, Wrong, ensure};
use crate::conduct::{Action, Cause, Once};
use crate::design::Design;
use crate::input::Event;
use crate::input::contact::ContactTicks;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Finger, Setup, Start};

const NO_CONTACT: Outcome = Outcome::NotApplicable("there is no contact");

/// For how many seconds it is waited for the end of what plays once.
const PATIENCE: f64 = 40.0;

/// For how many seconds it is seen that nothing happens.
const QUIET: f64 = 1.0;

/// Seconds for which it is waited for what is due.
const MORE: f64 = 0.05;

/// A contact, with times in seconds.
struct Contact {
    what: Finger,
    name: String,
    once: Once,
    /// As the project has it, and as it is counted.
    least: f64,
    debounce: f64,
}

pub(super) fn plays(setup: &Setup) -> Finding {
    let contacts = contacts(setup.design);
    if contacts.is_empty() {
        return Ok(NO_CONTACT);
    }
    let mut said = Vec::new();
    for contact in &contacts {
        let mut bench = at_rest(setup, contact)?;
        let before = Remembered::of(&mut bench, setup.design).choice();
        let scene = bench.model.scene();
        let closed = bench.seconds();
        // It stays closed until all is over.
        bench.close_at(closed, contact.what, true);
        let within = contact.debounce + leaving(setup.design);
        let Some(at) = contact.begins(&mut bench, within)? else {
            return Err(Wrong::Seen(format!(
                "`{}` closes, and nothing plays",
                contact.name
            )));
        };
        let wanted = length(setup.design, contact.once);
        let Some((back, end)) = next_scene(&mut bench, wanted)? else {
            said.push(format!(
                "`{}` plays for more than {PATIENCE:.0} s",
                contact.name
            ));
            continue;
        };
        let lasted = end - at;
        ensure(
            (lasted - wanted).abs() <= SETTLED * tick(setup.design),
            || {
                format!(
                    "`{}` plays for {lasted:.3} s, not {wanted:.3} s",
                    contact.name
                )
            },
        )?;
        let after = Remembered::of(&mut bench, setup.design).choice();
        ensure(back == scene && after == before, || {
            format!("after `{}` scene {back} plays, not {scene}", contact.name)
        })?;
        let again = next_scene(&mut bench, QUIET.min(calm(setup.design, before.0) / 2.0))?;
        ensure(again.is_none(), || {
            format!("`{}` stays closed, and plays again", contact.name)
        })?;
        said.push(format!("`{}` plays for {lasted:.2} s", contact.name));
    }
    Ok(Outcome::Holds(said.join("; ")))
}

pub(super) fn bounce(setup: &Setup) -> Finding {
    let contacts = contacts(setup.design);
    if contacts.is_empty() {
        return Ok(NO_CONTACT);
    }
    for contact in &contacts {
        let mut bench = at_rest(setup, contact)?;
        rig::bounce(&mut bench, contact.what, true);
        let within = BOUNCED + contact.debounce + leaving(setup.design);
        let begun = contact.begins(&mut bench, within)?;
        ensure(begun.is_some(), || {
            format!("`{}` bounces, and nothing plays", contact.name)
        })?;
        let wanted = length(setup.design, contact.once);
        let again = next_scene(&mut bench, (0.8 * wanted).min(QUIET))?;
        ensure(again.is_none(), || {
            format!("`{}` bounces, and plays twice", contact.name)
        })?;
    }
    Ok(Outcome::Holds(format!(
        "{} bounces within 6 ms, then closed",
        BOUNCES.len()
    )))
}

pub(super) fn brush(setup: &Setup) -> Finding {
    let contacts = contacts(setup.design);
    if contacts.is_empty() {
        return Ok(NO_CONTACT);
    }
    let mut longest = 0.0_f64;
    for contact in &contacts {
        for share in BRUSHES {
            let mut bench = at_rest(setup, contact)?;
            let now = bench.seconds();
            let length = share * contact.least;
            bench.close_at(now, contact.what, true);
            bench.close_at(now + length, contact.what, false);
            let within = 2.0 * contact.debounce + leaving(setup.design);
            let begun = contact.begins(&mut bench, within)?;
            ensure(begun.is_none(), || {
                format!("`{}` plays after {:.1} ms", contact.name, length * 1e3)
            })?;
            longest = longest.max(length);
        }
    }
    Ok(Outcome::Holds(format!(
        "{} touches of up to {:.1} ms",
        BRUSHES.len() * contacts.len(),
        longest * 1e3
    )))
}

pub(super) fn closed_at_power_up(setup: &Setup) -> Finding {
    let contacts = contacts(setup.design);
    if contacts.is_empty() {
        return Ok(NO_CONTACT);
    }
    for contact in &contacts {
        let Finger::Contact(index) = contact.what else {
            continue;
        };
        let mut bench = setup.power_up(&Start {
            contacts: 1 << index,
            ..Start::default()
        })?;
        begun(&mut bench)?;
        let plays = contact.begins(&mut bench, contact.debounce + QUIET)?;
        ensure(plays.is_none(), || {
            format!("`{}` is closed at power-up, and plays", contact.name)
        })?;
        let now = bench.seconds();
        let open = contact.debounce + SETTLED * tick(setup.design);
        bench.close_at(now, contact.what, false);
        bench.close_at(now + open, contact.what, true);
        let within = open + contact.debounce + leaving(setup.design);
        let plays = contact.begins(&mut bench, within)?;
        ensure(plays.is_some(), || {
            format!(
                "`{}` opens and closes again, and does not play",
                contact.name
            )
        })?;
    }
    Ok(Outcome::Holds(
        "closed from the start it does nothing; opened and closed again it plays".into(),
    ))
}

pub(super) fn begins(setup: &Setup) -> Finding {
    let Some(once) = setup.design.firmware.rules.begins_with() else {
        return Ok(Outcome::NotApplicable("the first scene is on at once"));
    };
    let mut bench = setup.power_up(&Start::default())?;
    let first = next_scene(&mut bench, QUIET)?;
    let Some((scene, at)) = first else {
        return Err(Wrong::Seen("nothing plays".into()));
    };
    ensure(scene == usize::from(once.scene), || {
        format!("scene {scene} plays, not {}", once.scene)
    })?;
    let wanted = length(setup.design, once);
    let Some((_, end)) = next_scene(&mut bench, wanted)? else {
        return Ok(Outcome::Holds(format!(
            "it plays for more than {PATIENCE:.0} s"
        )));
    };
    let lasted = end - at;
    // The first tick comes a tick after the start, and the start itself takes its time.
    ensure(
        (lasted - wanted).abs() <= (SETTLED + 1.0) * tick(setup.design),
        || format!("it plays for {lasted:.3} s, not {wanted:.3} s"),
    )?;
    Ok(Outcome::Holds(format!(
        "for {lasted:.2} s, then the show begins"
    )))
}

fn contacts(design: &Design) -> Vec<Contact> {
    let contact = |ticks: &ContactTicks| {
        let cause = Cause::Input(Event::Closed(ticks.index));
        let Action::Play(once) = design.firmware.rules.action(cause)? else {
            return None;
        };
        let written = &design.project.contacts[usize::from(ticks.index)];
        Some(Contact {
            what: Finger::Contact(ticks.index),
            name: written.name.value.clone(),
            once,
            least: written.debounce.value.seconds(),
            debounce: f64::from(ticks.debounce) * tick(design),
        })
    };
    design
        .firmware
        .contacts
        .iter()
        .filter_map(contact)
        .collect()
}

/// A chip on which nothing plays once, and whose contact has been open for long enough.
fn at_rest<'a>(setup: &'a Setup<'a>, contact: &Contact) -> Result<Bench<'a>, Wrong> {
    let mut bench = setup.power_up(&Start::default())?;
    begun(&mut bench)?;
    // Where scenes fade, that of the show has yet to come.
    play_on(&mut bench, leaving(setup.design))?;
    play_on(&mut bench, contact.debounce + SETTLED * tick(setup.design))?;
    Ok(bench)
}

/// Plays on until what power brings is over.
fn begun(bench: &mut Bench) -> Result<(), Wrong> {
    bench.next_tick()?;
    while bench.model.plays_once() {
        bench.next_tick()?;
    }
    Ok(())
}

impl Contact {
    /// When what it plays begins, if it does within so many seconds and a little more.
    fn begins(&self, bench: &mut Bench, seconds: f64) -> Result<Option<f64>, Wrong> {
        let end = bench.seconds() + seconds + MORE;
        while bench.seconds() < end {
            let started = bench.next_tick()?.started;
            let own = started.filter(|started| started.scene == usize::from(self.once.scene));
            if let Some(started) = own.filter(|_| bench.model.plays_once()) {
                return Ok(Some(bench.machine.seconds(started.at.0)));
            }
        }
        Ok(None)
    }
}

/// The next scene that starts within so many seconds and a little more, and when.
fn next_scene(bench: &mut Bench, seconds: f64) -> Result<Option<(usize, f64)>, Wrong> {
    let end = bench.seconds() + seconds.min(PATIENCE) + MORE;
    while bench.seconds() < end {
        if let Some(started) = bench.next_tick()?.started {
            return Ok(Some((started.scene, bench.machine.seconds(started.at.0))));
        }
    }
    Ok(None)
}

/// Seconds from the start of what plays once to that of the next scene.
fn length(design: &Design, once: Once) -> f64 {
    f64::from(once.ticks) * tick(design) + leaving(design)
}
