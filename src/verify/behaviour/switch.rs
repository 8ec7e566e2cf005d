//! The switch that chooses between shows.

use super::rig::{self, BOUNCED, BOUNCES, BRUSHES, SETTLED, leaving, play_on, tick};
use super::{Finding, Remembered, ensure};
use crate::design::Design;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Finger, Setup, Start};

const NO_SWITCH: Outcome = Outcome::NotApplicable("there is no switch");

/// How often it is turned.
const TURNS: u32 = 6;

pub(super) fn chooses(setup: &Setup) -> Finding {
    let design = setup.design;
    let Some(debounce) = debounce(design) else {
        return Ok(NO_SWITCH);
    };
    let mut latest = 0.0_f64;
    for switch in [false, true] {
        let mut bench = setup.power_up(&Start {
            switch,
            ..Start::default()
        })?;
        let first = bench.next_tick()?.started.map(|started| started.scene);
        let show = shown(&mut bench, design);
        let begins = design.firmware.rules.begins_with();
        let wanted = match begins {
            Some(once) => once.scene.into(),
            None => usize::from(design.deck.image.score.shows[usize::from(switch)].first),
        };
        ensure(
            show == u8::from(switch) && (show_has(design, switch, first) || first == Some(wanted)),
            || {
                format!(
                    "switched on with it {}, scene {first:?} of show {show} plays",
                    way(switch)
                )
            },
        )?;
        let mut closed = switch;
        for _ in 0..TURNS {
            closed = !closed;
            let now = bench.seconds();
            bench.close_at(now, Finger::Switch, closed);
            while shown(&mut bench, design) != u8::from(closed) {
                let took = bench.seconds() - now;
                ensure(took <= debounce + SETTLED * tick(design), || {
                    format!("{} for {took:.3} s, the other show plays", way(closed))
                })?;
                bench.next_tick()?;
            }
            latest = latest.max(bench.seconds() - now);
            play_on(&mut bench, fading(design) + debounce)?;
            let scene = bench.model.scene();
            ensure(show_has(design, closed, Some(scene)), || {
                format!(
                    "{}, scene {scene} plays, which is not of its show",
                    way(closed)
                )
            })?;
        }
    }
    Ok(Outcome::Holds(format!(
        "{} turns, each within {:.0} ms",
        2 * TURNS,
        latest * 1e3
    )))
}

pub(super) fn bounce(setup: &Setup) -> Finding {
    let design = setup.design;
    let Some(debounce) = debounce(design) else {
        return Ok(NO_SWITCH);
    };
    let written = design.project.selector.as_ref();
    let least = written.map_or(0.0, |selector| selector.debounce.value.seconds());
    let mut bench = setup.power_up(&Start::default())?;
    bench.next_tick()?;
    play_on(&mut bench, debounce)?;
    for share in BRUSHES {
        let now = bench.seconds();
        bench.close_at(now, Finger::Switch, true);
        bench.close_at(now + share * least, Finger::Switch, false);
        play_on(&mut bench, 2.0 * debounce)?;
        ensure(shown(&mut bench, design) == 0, || {
            format!("turned for {:.1} ms, it counts", share * least * 1e3)
        })?;
    }
    for closed in [true, false] {
        let now = bench.seconds();
        rig::bounce(&mut bench, Finger::Switch, closed);
        let mut turns = 0;
        let mut show = shown(&mut bench, design);
        while bench.seconds() < now + BOUNCED + 3.0 * debounce {
            bench.next_tick()?;
            let next = shown(&mut bench, design);
            turns += u32::from(next != show);
            show = next;
        }
        ensure(turns == 1, || {
            format!("bouncing, it is turned {turns} times")
        })?;
    }
    Ok(Outcome::Holds(format!(
        "{} bounces within 6 ms at each turn; {} turns of up to {:.1} ms do nothing",
        BOUNCES.len(),
        BRUSHES.len(),
        BRUSHES[BRUSHES.len() - 1] * least * 1e3
    )))
}

fn debounce(design: &Design) -> Option<f64> {
    let ticks = design.firmware.switch?;
    Some(f64::from(ticks.debounce) * tick(design))
}

fn shown(bench: &mut Bench, design: &Design) -> u8 {
    Remembered::of(bench, design).show
}

/// Whether a scene is one of the show of a closed or an open switch.
fn show_has(design: &Design, closed: bool, scene: Option<usize>) -> bool {
    let show = &design.deck.image.score.shows[usize::from(closed)];
    scene.is_some_and(|scene| show.scenes().contains(&scene))
}

fn way(closed: bool) -> &'static str {
    if closed { "closed" } else { "open" }
}

/// Seconds until one scene has given way to another.
fn fading(design: &Design) -> f64 {
    leaving(design) + SETTLED * tick(design)
}
