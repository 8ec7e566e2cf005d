//! The watchdog's register takes a change within four cycles of one that allows it.

use crate::chip::Chip;
use crate::target::{Counting, Guarded, WatchdogOff, Write};

pub(in crate::target) fn on(chip: &'static Chip, prescaler: usize, counted: bool) -> Guarded {
    let watchdog = &chip.watchdog;
    let set = watchdog.prescaler.iter().enumerate();
    let set = set.filter(|(bit, _)| prescaler >> bit & 1 == 1);
    let mut bits = vec![watchdog.enable.as_str()];
    bits.extend(set.map(|(_, name)| name.as_str()));
    let interrupt = watchdog.interrupt.iter().filter(|_| counted);
    bits.extend(interrupt.map(|interrupt| interrupt.enable.as_str()));
    Guarded {
        unlock: unlock(chip),
        write: Write::bits(chip, &watchdog.register, &bits),
    }
}

/// In the mode that interrupts and resets, the hardware takes the interrupt's bit back when it is served; if it is
/// not served, or not allowed again, by the end of the next period, that resets the chip (datasheets, 'Watchdog
/// Timer'; from memory).
pub(in crate::target) fn counting(chip: &'static Chip) -> Option<Counting> {
    let watchdog = &chip.watchdog;
    let interrupt = watchdog.interrupt.as_ref()?;
    Some(Counting {
        vector: &interrupt.vector,
        number: interrupt.number,
        again: Write::bits(chip, &watchdog.register, &[&interrupt.enable]),
    })
}

/// The flag of a reset by the watchdog keeps it on (datasheets, 'Watchdog Timer').
pub(in crate::target) fn off(chip: &'static Chip) -> WatchdogOff {
    let watchdog = &chip.watchdog;
    WatchdogOff {
        flags: Write::number(chip, &watchdog.flags_register, 0),
        off: Guarded {
            unlock: unlock(chip),
            write: Write::number(chip, &watchdog.register, 0),
        },
    }
}

fn unlock(chip: &'static Chip) -> Write {
    let watchdog = &chip.watchdog;
    Write::bits(
        chip,
        &watchdog.register,
        &[&watchdog.change, &watchdog.enable],
    )
}
