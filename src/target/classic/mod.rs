//! ATtiny and ATmega chips of the classic kind: three registers a port, an EEPROM with a control register of
//! its own, a watchdog and a clock divisor that take changes within four cycles, fuses written over SPI.

pub(super) mod converter;
pub(super) mod fuses;
pub(super) mod memory;
pub(super) mod ports;
pub(super) mod power_down;
pub(super) mod processor;
pub(super) mod programmer;
pub(super) mod watchdog;
