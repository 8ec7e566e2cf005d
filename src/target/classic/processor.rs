//! The processor's clock and sleep, and what is switched off.

use crate::chip::Chip;
use crate::target::{Guarded, Write};

/// Reset loads it with the factory's byte for the clock that a new chip has.
pub(in crate::target) const CALIBRATION: &str = "OSCCAL";

const CLOCK: &str = "CLKPR";
const CLOCK_CHANGE: &str = "CLKPCE";

pub(in crate::target) fn divide_clock(chip: &'static Chip, bits: u8) -> Guarded {
    Guarded {
        unlock: Write::bits(chip, CLOCK, &[CLOCK_CHANGE]),
        write: Write::number(chip, CLOCK, bits),
    }
}

/// Idle is the mode with all mode bits zero.
pub(in crate::target) fn idle(chip: &'static Chip) -> Write {
    Write::bits(chip, &chip.sleep.register, &[&chip.sleep.enable])
}

pub(in crate::target) fn rest(chip: &'static Chip) -> Write {
    Write::bits(chip, &chip.comparator.register, &[&chip.comparator.disable])
}
