//! Ports: `DDRx` for the direction, `PORTx` for levels and pull-ups, `PINx` for what is there.

use crate::chip::{Chip, Pin};
use crate::target::{PortPin, Toggle, register};

pub(in crate::target) fn pin(pin: Pin) -> PortPin {
    PortPin {
        pin,
        port: port(pin.port),
        direction: direction(pin.port),
        input: format!("PIN{}", pin.port),
    }
}

pub(in crate::target) fn port(port: char) -> String {
    format!("PORT{port}")
}

pub(in crate::target) fn direction(port: char) -> String {
    format!("DDR{port}")
}

/// By writing to `PINx` where that toggles, and else by an exclusive or.
pub(in crate::target) fn toggle(chip: &'static Chip, port: char) -> Toggle {
    let name = if chip.pin_toggles { "PIN" } else { "PORT" };
    let (register, entry) = register(chip, &format!("{name}{port}"));
    Toggle {
        register,
        reach: entry.reach(),
        by_xor: !chip.pin_toggles,
    }
}
