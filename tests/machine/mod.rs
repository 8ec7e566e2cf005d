//! The simulated chip behaves as the datasheets say.
//!
//! Sources: Microchip's datasheets ATtiny2313A/4313 (8246B), ATtiny24A/44A/84A (8183F),
//! ATtiny25/45/85 (2586Q), ATmega48A/PA/88A/PA/168A/PA/328/P (DS40002061A) and ATmega16U4/32U4
//! (7766J). Section titles are given at each test, from memory.

mod eeprom;
mod firmware;
mod interrupts;
mod light;
mod limits;
mod pins;
mod processor;
mod sleep;
mod support;
mod watchdog;
mod waveforms;
