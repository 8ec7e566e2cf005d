//! Which register belongs to which peripheral.

use super::converter::ConverterRegister;
use super::eeprom::EepromRegister;
use super::external::External;
use super::silicon::Silicon;
use super::timer::{Timer, TimerRegister};

/// Who answers to a register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Route {
    Input(u8),
    Direction(u8),
    Latch(u8),
    /// By the timer's place among the part's.
    Timer(u8, TimerRegister),
    /// TIMSK and TIFR, of one timer or several.
    TimerMasks,
    TimerFlags,
    Eeprom(EepromRegister),
    Converter(ConverterRegister),
    Watchdog,
    /// MCUSR.
    ResetFlags,
    /// GTCCR: prescaler resets, and control bits of the high-speed timer.
    Prescalers,
    /// PRR.
    PowerReduction,
    /// Bits that others look at: MCUCR, SMCR, what the external interrupts go by.
    Control,
    /// GIFR, EIFR, PCIFR.
    ExternalFlags,
    /// A peripheral that is not modelled, by its place in [`FOREIGN`].
    Foreign(u8),
}

/// Peripherals that the machine does not have, with the bits that put them to use, which is reported.
pub(super) const FOREIGN: [(&str, u8); 11] = [
    ("TCCR1B", 0x0F),
    ("TCCR4B", 0x0F),
    ("PLLCSR", 1 << 2),
    ("CLKPR", 0x0F),
    ("ACSR", 1 << 3),
    ("UCSRB", 0xF8),
    ("UCSR0B", 0xF8),
    ("UCSR1B", 0xF8),
    ("SPCR", 1 << 6),
    ("TWCR", 1 << 2),
    ("USICR", 0xFF),
];

/// The data addresses that a peripheral of `part` answers to, in order.
pub(super) fn routes(part: &Silicon, timers: &[Timer], external: &External) -> Vec<(u16, Route)> {
    let mut routes: Vec<(u16, Route)> = Vec::new();
    let mut add = |names: &[&str], route: Route| {
        if let Some(address) = part.value(names) {
            routes.push((address, route));
        }
    };
    for (port, letter) in ('A'..='F').enumerate() {
        let port = port as u8;
        add(&[&format!("PIN{letter}")], Route::Input(port));
        add(&[&format!("DDR{letter}")], Route::Direction(port));
        add(&[&format!("PORT{letter}")], Route::Latch(port));
    }
    add(&["EECR"], Route::Eeprom(EepromRegister::Control));
    add(&["EEDR"], Route::Eeprom(EepromRegister::Data));
    add(&["EEARL"], Route::Eeprom(EepromRegister::AddressLow));
    add(&["EEARH"], Route::Eeprom(EepromRegister::AddressHigh));
    add(&["ADMUX"], Route::Converter(ConverterRegister::Multiplexer));
    add(&["ADCSRA"], Route::Converter(ConverterRegister::Control));
    add(&["ADCSRB"], Route::Converter(ConverterRegister::Trigger));
    add(&["ADCL"], Route::Converter(ConverterRegister::Low));
    add(&["ADCH"], Route::Converter(ConverterRegister::High));
    add(&["WDTCSR", "WDTCR"], Route::Watchdog);
    add(&["MCUSR"], Route::ResetFlags);
    add(&["GTCCR"], Route::Prescalers);
    add(&["PRR", "PRR0"], Route::PowerReduction);
    add(&["PRR1"], Route::PowerReduction);
    add(&["MCUCR"], Route::Control);
    add(&["SMCR"], Route::Control);
    add(&["BODCR"], Route::Control);
    // A timer that has a model is not foreign.
    let own = |name: &str| {
        let registers = timers.iter().flat_map(|timer| &timer.registers);
        let mut addresses = registers.map(|(address, _)| *address);
        addresses.any(|address| part.value(&[name]) == Some(address))
    };
    for (place, (name, _)) in FOREIGN.iter().enumerate() {
        if !own(name) {
            add(&[name], Route::Foreign(place as u8));
        }
    }
    for (index, timer) in timers.iter().enumerate() {
        let own = timer
            .registers
            .iter()
            .map(|(a, register)| (*a, Route::Timer(index as u8, *register)));
        routes.extend(own);
        routes.push((timer.mask_register, Route::TimerMasks));
        routes.push((timer.flag_register, Route::TimerFlags));
    }
    routes.extend(
        external
            .control_registers()
            .into_iter()
            .map(|a| (a, Route::Control)),
    );
    routes.extend(
        external
            .flag_registers()
            .into_iter()
            .map(|a| (a, Route::ExternalFlags)),
    );
    routes.sort_by_key(|(address, _)| *address);
    routes.dedup();
    routes
}
