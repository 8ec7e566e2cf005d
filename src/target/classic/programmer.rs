//! How fast a programmer may clock a chip, new or with the planned fuses.

use crate::chip::{Chip, FuseBits};
use crate::target::FusePlan;
use crate::units::{Hertz, Time};

/// The shortest bit, in whole microseconds: a programmer's clock must stay below a quarter of the
/// chip's (datasheets, 'Serial Programming': low and high for more than two of its cycles each),
/// which may be slow by its oscillator's error.
pub(in crate::target) fn bit_time(chip: &Chip, fuses: &[FusePlan]) -> Time {
    let low = fuses.iter().filter(|fuse| fuse.name == "low");
    let bytes = low.flat_map(|fuse| [fuse.factory, fuse.value]);
    let slowest = bytes
        .filter_map(|byte| clock_of(chip, byte))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or(Hertz(1e6));
    let slow = slowest.0 * (1.0 - chip.electrical.oscillator_error.0);
    Time((4e6 / slow).ceil() as u64 * 1_000)
}

/// The clock of a chip in reset, by its low fuse; `None` where the byte leaves it to what is
/// outside.
fn clock_of(chip: &Chip, low: u8) -> Option<Hertz> {
    let chosen = |fuses: &FuseBits, select: u8| {
        let source = fuses.get("low");
        source.is_some_and(|[mask, bits]| low & mask & select == bits & select)
    };
    let internal = chip.clocks.internal.iter();
    let oscillator = internal
        .filter(|oscillator| chosen(&oscillator.fuses, SOURCE))
        .map(|oscillator| oscillator.hertz);
    let crystal = chip.clocks.crystal.iter();
    let slowest_crystal = crystal
        .filter(|range| chosen(&range.fuses, CRYSTAL))
        .map(|range| range.from);
    let clock = oscillator.chain(slowest_crystal).next()?;
    let divides = chip.fuses.iter().find(|byte| byte.name == "low");
    let divided = divides
        .and_then(|byte| byte.bit("CKDIV8"))
        .is_some_and(|bit| low >> bit & 1 == 0);
    Some(Hertz(clock.0 / if divided { 8.0 } else { 1.0 }))
}

/// The bits of the low fuse that choose the source. For a crystal the last of them is part of its
/// start-up time.
const SOURCE: u8 = 0x0F;
const CRYSTAL: u8 = 0x0E;

#[cfg(test)]
mod tests {
    use super::*;

    fn new_chip(name: &str) -> Time {
        let chip = crate::chip::find(name).expect("a chip");
        let as_delivered: Vec<FusePlan> = chip
            .fuses
            .iter()
            .map(|byte| FusePlan {
                name: &byte.name,
                memory: byte.memory(),
                value: byte.factory,
                factory: byte.factory,
                reason: String::new(),
            })
            .collect();
        bit_time(chip, &as_delivered)
    }

    /// Datasheets, 'Clock Sources': new chips run at 1 MHz, the ATtiny13A at 1.2 MHz.
    #[test]
    fn a_new_chip_is_programmed_below_a_quarter_of_its_clock() {
        for chip in crate::chip::all() {
            let bit = new_chip(&chip.name);
            let megahertz = if chip.name == "attiny13a" { 1.2 } else { 1.0 };
            let cycles = bit.seconds() * megahertz * 1e6;
            assert!((4.0..7.0).contains(&cycles), "{}: {bit}", chip.name);
        }
    }
}
