//! Power-down, and the pins that wake from it.

use crate::chip::{Bits, Chip, Pin};
use crate::spec::ButtonTo;
use crate::target::{Waking, Write};

/// The brown-out detector is switched off by two writes just before the sleep: both bits, then the first alone.
/// Those may be in the register that has the mode.
pub(in crate::target) fn power_down(chip: &'static Chip, watched: bool) -> Vec<Write> {
    let sleep = &chip.sleep;
    let modes = sleep.power_down.iter().chain([&sleep.enable]);
    let modes: Vec<&str> = modes.map(String::as_str).collect();
    let mode = Write::bits(chip, &sleep.register, &modes);
    let Some(detector) = sleep.brown_out.as_ref().filter(|_| watched) else {
        return vec![mode];
    };
    let both = [detector.off.as_str(), &detector.unlock];
    if detector.register != sleep.register {
        let write = |bits: &[&str]| Write::bits(chip, &detector.register, bits);
        return vec![mode, write(&both), write(&both[..1])];
    }
    let with = |bits: &[&str]| Write::bits(chip, &sleep.register, &[&modes[..], bits].concat());
    vec![with(&both), with(&both[..1])]
}

/// A low level wakes at once, so a button to ground is best on a pin of an external interrupt; a change of a pin
/// is told by a flag, in which an earlier one may still stand.
pub(in crate::target) fn waking(chip: &'static Chip, pin: Pin, to: ButtonTo) -> Option<Waking> {
    let wake = &chip.wake;
    let level = wake.levels.iter().find(|level| level.pin == pin);
    if let Some(level) = level.filter(|_| to == ButtonTo::Ground) {
        let allow = bits(chip, &level.enable);
        return Some(Waking {
            vector: &level.vector,
            number: level.number,
            forbid: Write::number(chip, allow.register, 0),
            allow: vec![allow],
        });
    }
    let change = wake.changes.iter().find(|change| change.port == pin.port)?;
    let allow = bits(chip, &change.enable);
    Some(Waking {
        vector: &change.vector,
        number: change.number,
        forbid: Write::number(chip, allow.register, 0),
        allow: vec![
            Write::number(chip, &change.mask, pin.mask()),
            bits(chip, &change.flag),
            allow,
        ],
    })
}

/// 'MCU Status Register': all but the watchdog's.
pub(in crate::target) fn power_causes(chip: &'static Chip) -> Write {
    Write::bits(
        chip,
        &chip.watchdog.flags_register,
        &["PORF", "EXTRF", "BORF"],
    )
}

/// Of one register.
fn bits(chip: &'static Chip, bits: &'static Bits) -> Write {
    let (register, names) = bits.first_key_value().expect("chip data is tested");
    let names: Vec<&str> = names.iter().map(String::as_str).collect();
    Write::bits(chip, register, &names)
}
