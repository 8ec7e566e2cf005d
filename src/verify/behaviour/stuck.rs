//! A firmware that no longer gets anywhere.

use super::rig::play_on;
use super::{Finding, ensure};
use crate::verify::Outcome;
use crate::verify::bench::{Setup, Start};

/// `rjmp .-2`: the end of all progress (AVR Instruction Set Manual).
const STAND_STILL: [u8; 2] = 0xCFFF_u16.to_le_bytes();

/// The watchdog's oscillator, and the moment within a tick, make this much of a difference.
const TOLERANCE: f64 = 0.25;

pub(super) fn watchdog(setup: &Setup) -> Finding {
    let design = setup.design;
    let Some(watchdog) = &design.plan.watchdog else {
        return Ok(Outcome::NotApplicable("there is no watchdog"));
    };
    let mut firmware = setup.firmware.clone();
    let trap = firmware.flash.len().next_multiple_of(2);
    if trap + STAND_STILL.len() > design.plan.chip.flash.0 as usize {
        return Ok(Outcome::NotApplicable("the flash has no room for a trap"));
    }
    firmware.flash.resize(trap, 0xFF);
    firmware.flash.extend(STAND_STILL);
    let trapped = Setup::new(design, firmware)?;
    let mut bench = trapped.power_up(&Start::default())?;
    play_on(&mut bench, 0.5)?;
    let planned = watchdog.time.seconds();
    let took = bench.stand_still(trap as u32, 3.0 * planned)?;
    ensure(took.is_some(), || {
        format!("stuck, it is not restarted within {:.2} s", 3.0 * planned)
    })?;
    let took = took.unwrap_or_default();
    ensure((took / planned - 1.0).abs() <= TOLERANCE, || {
        format!("restarted after {took:.3} s; the watchdog is set to {planned:.3} s")
    })?;
    play_on(&mut bench, 0.5)?;
    Ok(Outcome::Holds(format!(
        "{took:.3} s after it got stuck; it then plays as after a power-up"
    )))
}
