//! The knob that sets the brightness.

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::rig::{play_on, tick};
use super::{Finding, ensure};
use crate::design::Design;
use crate::input::knob::{ENDS, KnobTicks, PLAY};
use crate::spec::Sets;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Setup, Start};

const NO_KNOB: Outcome = Outcome::NotApplicable("there is no knob");

/// Codes of the converter's eight bits.
const CODES: f64 = 256.0;

/// Looks at the knob from one end to the other, and some.
const SWEEP: u32 = 260;

/// In ticks: what is measured is measured in turn.
fn sweep(design: &Design) -> u32 {
    let converter = design.plan.converter.as_ref();
    SWEEP * converter.map_or(0, |converter| converter.measures.len() as u32)
}

/// Where it is turned to, of its way; the last three are near what a potentiometer may leave at its ends.
const PLACES: [f64; 8] = [0.5, 0.0, 1.0, 0.1, 0.9, 0.02, 0.985, 0.012];

/// Ticks in which a pattern at its slowest goes on once.
const STILL: u32 = 256;

/// Ticks with noise at each place.
const NOISY: u32 = 400;

/// The seconds until the light has come up to a knob that is all the way up.
pub(super) fn comes_up(design: &Design) -> f64 {
    let ticks = design.firmware.knob.map_or(0, |_| sweep(design));
    f64::from(ticks) * tick(design)
}

pub(super) fn follows(setup: &Setup) -> Finding {
    let Some(KnobTicks { step, sets }) = setup.design.firmware.knob else {
        return Ok(NO_KNOB);
    };
    let mut bench = setup.power_up(&Start::default())?;
    let mut largest = 0;
    for share in PLACES {
        let start = bench.model.followed().0;
        bench.turn_knob(share);
        let mut before = start;
        let mut rest = 0;
        for _ in 0..sweep(setup.design) {
            bench.next_tick()?;
            let gain = bench.model.followed().0;
            rest = if gain == before { rest + 1 } else { 0 };
            largest = largest.max(gain.abs_diff(before));
            before = gain;
        }
        let code = (share * CODES).min(CODES - 1.0) as u8;
        let wanted = match code {
            low if low < ENDS => 0..=0,
            high if high > u8::MAX - ENDS => u8::MAX..=u8::MAX,
            between => between.saturating_sub(PLAY)..=between.saturating_add(PLAY),
        };
        ensure(wanted.contains(&before) && rest > 1, || {
            format!(
                "at {:.1} % of its way it comes to {before} of 255",
                share * 100.0
            )
        })?;
    }
    ensure(largest <= step, || {
        format!("it goes {largest} of 255 in a tick")
    })?;
    match sets {
        Sets::Brightness => dark_at_the_end(&mut bench, setup.design)?,
        Sets::Speed => slow_at_the_end(&mut bench, setup.design)?,
    }
    Ok(Outcome::Holds(format!(
        "{} places, both ends among them; at most {step} of 255 at a time, {:.1} s from end to end",
        PLACES.len(),
        comes_up(setup.design) * 255.0 / f64::from(SWEEP) / f64::from(step)
    )))
}

/// All the way down, nothing is lit.
fn dark_at_the_end(bench: &mut Bench, design: &Design) -> Result<(), super::Wrong> {
    bench.turn_knob(0.0);
    play_on(bench, comes_up(design))?;
    let frame = bench.next_tick()?;
    ensure(frame.duties.iter().all(|duty| duty.0 == 0), || {
        "all the way down, there is light".to_string()
    })
}

/// All the way down, a pattern goes on by a tick in 256.
fn slow_at_the_end(bench: &mut Bench, design: &Design) -> Result<(), super::Wrong> {
    bench.turn_knob(0.0);
    play_on(bench, comes_up(design))?;
    let mut frames = Vec::new();
    for _ in 0..STILL {
        frames.push(bench.next_tick()?.duties);
    }
    let changes = frames.windows(2).filter(|pair| pair[0] != pair[1]).count();
    ensure(changes <= 1, || {
        format!("all the way down, its light changes {changes} times in {STILL} ticks")
    })
}

pub(super) fn noise(setup: &Setup) -> Finding {
    if setup.design.firmware.knob.is_none() {
        return Ok(NO_KNOB);
    }
    let mut bench = setup.power_up(&Start::default())?;
    let mut noise = StdRng::seed_from_u64(1);
    for share in PLACES {
        bench.turn_knob(share);
        play_on(&mut bench, comes_up(setup.design))?;
        // Half of what the play has room for, either way, from wherever it came.
        let most = f64::from(PLAY / 2) / CODES;
        for _ in 0..NOISY / 2 {
            bench.turn_knob((share + noise.random_range(-most..=most)).clamp(0.0, 1.0));
            bench.next_tick()?;
        }
        let settled = bench.model.followed().0;
        for _ in 0..NOISY / 2 {
            bench.turn_knob((share + noise.random_range(-most..=most)).clamp(0.0, 1.0));
            bench.next_tick()?;
            let gain = bench.model.followed().0;
            ensure(gain == settled, || {
                format!(
                    "at {:.1} % of its way, noise moves it from {settled} to {gain}",
                    share * 100.0
                )
            })?;
        }
    }
    Ok(Outcome::Holds(format!(
        "{} places, {} ticks each with up to {} of 256 steps of noise",
        PLACES.len(),
        NOISY / 2,
        PLAY / 2
    )))
}
