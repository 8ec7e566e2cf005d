//! A firmware that no longer gets anywhere.

use super::rig::play_on;
use super::{Finding, ensure};
use crate::units::Time;
use crate::verify::Outcome;
use crate::verify::bench::{Setup, Start};

/// `rjmp .-2`: the end of all progress (AVR Instruction Set Manual).
const STAND_STILL: [u8; 2] = 0xCFFF_u16.to_le_bytes();

/// The bit of the status register that lets interrupts through.
const INTERRUPTS: u8 = 1 << 7;

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
    let [least, most] = watchdog.restarts().map(Time::seconds);
    let mut slowest = 0.0_f64;
    // Where it interrupts first, nobody may be there to serve it.
    let counts = watchdog.counting.is_some();
    for interrupts in [true, false].into_iter().filter(|on| *on || counts) {
        let mut bench = trapped.power_up(&Start::default())?;
        play_on(&mut bench, 0.5)?;
        let status = bench.machine.status();
        if !interrupts {
            bench.machine.set_status(status & !INTERRUPTS);
        }
        let took = bench.stand_still(trap as u32, 2.0 * most)?;
        let how = if interrupts {
            ""
        } else {
            " with interrupts off"
        };
        ensure(took.is_some(), || {
            format!("stuck{how}, it is not restarted within {:.2} s", 2.0 * most)
        })?;
        let took = took.unwrap_or_default();
        let range = least * (1.0 - TOLERANCE)..=most * (1.0 + TOLERANCE);
        ensure(range.contains(&took), || {
            format!(
                "stuck{how}, it is restarted after {took:.3} s; the watchdog is set to {least:.3} s"
            )
        })?;
        slowest = slowest.max(took);
        play_on(&mut bench, 0.5)?;
    }
    let how = if counts { ", interrupts on or off" } else { "" };
    Ok(Outcome::Holds(format!(
        "{slowest:.3} s after it got stuck{how}; it then plays as after a power-up"
    )))
}
