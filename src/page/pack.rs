//! Levels over time as short text: how long a level lasts, and how far the next one is.
//!
//! Runs and steps alternate, each as groups of seven bits, low ones first, the eighth bit set if more
//! follow; a step's sign is its lowest bit. In base64.

use base64::Engine as _;
use base64::prelude::BASE64_STANDARD;

use crate::units::Level;

/// Levels, tick by tick, packed. Starts at level 0.
pub fn pack(levels: &[Level]) -> String {
    let mut bytes = Vec::new();
    let mut now = 0_i32;
    let mut run = 0_u32;
    for level in levels {
        let level = i32::from(level.0);
        if level != now {
            put(&mut bytes, run);
            let step = level - now;
            put(&mut bytes, step.unsigned_abs() << 1 | u32::from(step < 0));
            (now, run) = (level, 0);
        }
        run += 1;
    }
    put(&mut bytes, run);
    BASE64_STANDARD.encode(bytes)
}

fn put(bytes: &mut Vec<u8>, mut number: u32) {
    while number > 0x7F {
        bytes.push(number as u8 | 0x80);
        number >>= 7;
    }
    bytes.push(number as u8);
}

/// What was packed; `None` if it never was.
pub fn unpack(text: &str) -> Option<Vec<Level>> {
    let bytes = BASE64_STANDARD.decode(text).ok()?;
    let mut numbers = Vec::new();
    let (mut number, mut shift) = (0_u32, 0);
    for byte in bytes {
        number |= u32::from(byte & 0x7F).checked_shl(shift)?;
        shift += 7;
        if byte & 0x80 == 0 {
            numbers.push(number);
            (number, shift) = (0, 0);
        }
    }
    let mut levels = Vec::new();
    let mut now = 0_i32;
    for pair in numbers.chunks(2) {
        let level = Level(u8::try_from(now).ok()?);
        levels.extend(std::iter::repeat_n(level, pair[0] as usize));
        if let Some(step) = pair.get(1) {
            let size = (step >> 1) as i32;
            now += if step & 1 == 1 { -size } else { size };
        }
    }
    Some(levels)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn what_is_packed_comes_out_again(
            runs in prop::collection::vec((any::<u8>(), 1_usize..400), 0..40)
        ) {
            let levels: Vec<Level> = runs
                .iter()
                .flat_map(|&(level, count)| std::iter::repeat_n(Level(level), count))
                .collect();
            prop_assert_eq!(unpack(&pack(&levels)), Some(levels));
        }
    }

    #[test]
    fn a_held_level_takes_a_few_bytes() {
        assert!(pack(&[Level(40); 10_000]).len() <= 8);
        assert_eq!(unpack("not base64!"), None);
    }
}
