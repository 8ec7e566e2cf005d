//! How a family of chips does things. What a chip has is data ([`chip`](crate::chip)); what is written into
//! which of its registers, in which order and under which guard, is said here, a folder a family.

mod brown_out;
mod claims;
mod classic;
mod clock;
mod converter;
mod core;
mod fuse;
mod memory;
mod port;
mod power_down;
mod supply;
mod variable;
mod watchdog;
mod write;

use crate::chip::{BrownOut, Chip, Converter, Pin};
use crate::diagnostic::Notes;
use crate::spec::{ButtonTo, Project};
use crate::units::{Hertz, Time};

pub use claims::Claims;
pub use clock::ClockPlan;
pub use converter::{ConverterPlan, Measure, Measured};
pub use core::{CORE, CoreRegisters};
pub use fuse::FusePlan;
pub use memory::Registers as MemoryRegisters;
pub use port::{PortMask, PortPin, Toggle};
pub use power_down::{PowerDown, Waking, WakingButton};
pub use supply::{Limits, SupplyPlan};

pub use variable::Wanted;
pub use watchdog::{Counting, WatchdogOff, WatchdogPlan};
pub use write::{Guarded, Write, register};

/// Chips that do things alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Family {
    /// ATtiny and ATmega with ports of `DDRx`, `PORTx` and `PINx`, programmed over SPI.
    Classic,
}

/// A chip, and how its family does things.
#[derive(Debug, Clone, Copy)]
pub struct Target {
    pub chip: &'static Chip,
    family: Family,
}

impl Target {
    pub fn of(chip: &'static Chip) -> Self {
        Self {
            chip,
            family: Family::Classic,
        }
    }

    /// The registers that a pin is reached by.
    pub fn pin(self, pin: Pin) -> PortPin {
        match self.family {
            Family::Classic => classic::ports::pin(pin),
        }
    }

    /// The register of a port's levels as outputs.
    pub fn port(self, port: char) -> String {
        match self.family {
            Family::Classic => classic::ports::port(port),
        }
    }

    /// The register that makes pins of a port outputs.
    pub fn direction(self, port: char) -> String {
        match self.family {
            Family::Classic => classic::ports::direction(port),
        }
    }

    /// How pins of a port change to the other level, all at the same instant.
    pub fn toggle(self, port: char) -> Toggle {
        match self.family {
            Family::Classic => classic::ports::toggle(self.chip, port),
        }
    }

    /// Divides the clock by 2 to the power of `bits`.
    pub fn divide_clock(self, bits: u8) -> Guarded {
        match self.family {
            Family::Classic => classic::processor::divide_clock(self.chip, bits),
        }
    }

    /// The register of the oscillator's calibration.
    pub fn calibration(self) -> &'static str {
        match self.family {
            Family::Classic => classic::processor::CALIBRATION,
        }
    }

    /// Lets the processor sleep with its timers running.
    pub fn idle(self) -> Write {
        match self.family {
            Family::Classic => classic::processor::idle(self.chip),
        }
    }

    /// Before a sleep in which all clocks stop; `watched`: the brown-out detector is on until then.
    pub fn power_down(self, watched: bool) -> Vec<Write> {
        match self.family {
            Family::Classic => classic::power_down::power_down(self.chip, watched),
        }
    }

    /// Whether the brown-out detector can be switched off in sleep.
    pub fn rests_detector(self) -> bool {
        self.chip.sleep.brown_out.is_some()
    }

    /// The interrupt by which a button on a pin wakes the chip from power-down. `None`: it cannot.
    pub fn waking(self, pin: Pin, to: ButtonTo) -> Option<Waking> {
        match self.family {
            Family::Classic => classic::power_down::waking(self.chip, pin, to),
        }
    }

    /// Switches off what draws current from reset on and is of no use to a light.
    pub fn rest(self) -> Write {
        match self.family {
            Family::Classic => classic::processor::rest(self.chip),
        }
    }

    /// What is written before the converter is set going, besides what it measures.
    pub fn prepare_converter(self, converter: &Converter, channels: &[u8]) -> Vec<Write> {
        match self.family {
            Family::Classic => classic::converter::prepare(self.chip, converter, channels),
        }
    }

    /// Has the converter measure a channel.
    pub fn measure(self, converter: &Converter, channel: u8) -> Write {
        match self.family {
            Family::Classic => classic::converter::choose(self.chip, converter, channel),
        }
    }

    /// Sets the converter going, and how many conversions a second that makes.
    pub fn converts(self, converter: &Converter, clock: Hertz) -> (Write, Hertz) {
        match self.family {
            Family::Classic => classic::converter::go(self.chip, converter, clock),
        }
    }

    /// As `go` sets it going again and again, but once; and the number of the bit that is set until it has converted.
    pub fn converts_once(self, converter: &Converter, go: Write) -> (Write, u8) {
        match self.family {
            Family::Classic => classic::converter::once(self.chip, converter, go),
        }
    }

    /// The register of the converter's results.
    pub fn converted(self) -> &'static str {
        match self.family {
            Family::Classic => classic::converter::RESULT,
        }
    }

    /// Switches the converter off.
    pub fn no_converter(self) -> Write {
        match self.family {
            Family::Classic => classic::converter::off(self.chip),
        }
    }

    /// Makes the watchdog restart the chip after its time number `prescaler`; `counted`: it interrupts first.
    pub fn watchdog(self, prescaler: usize, counted: bool) -> Guarded {
        match self.family {
            Family::Classic => classic::watchdog::on(self.chip, prescaler, counted),
        }
    }

    /// How the watchdog's periods are counted. `None`: it cannot interrupt.
    pub fn counting(self) -> Option<Counting> {
        match self.family {
            Family::Classic => classic::watchdog::counting(self.chip),
        }
    }

    /// The flags of a start by power, by the reset pin or by a supply that dipped, in the register that has them.
    pub fn power_causes(self) -> Write {
        match self.family {
            Family::Classic => classic::power_down::power_causes(self.chip),
        }
    }

    /// Turns off a watchdog that was left on.
    pub fn no_watchdog(self) -> WatchdogOff {
        match self.family {
            Family::Classic => classic::watchdog::off(self.chip),
        }
    }

    /// The registers that the EEPROM is read and written by.
    pub fn memory(self) -> MemoryRegisters {
        match self.family {
            Family::Classic => classic::memory::registers(self.chip),
        }
    }

    /// The fuses for a clock, a brown-out level and pins in use.
    pub fn fuses(
        self,
        project: &Project,
        clock: &ClockPlan,
        brown_out: Option<&BrownOut>,
        claims: &Claims,
        notes: &mut Notes,
    ) -> Vec<FusePlan> {
        match self.family {
            Family::Classic => {
                classic::fuses::choose(self.chip, project, clock, brown_out, claims, notes)
            }
        }
    }

    /// The shortest bit of a programmer's clock that suits the chip, as delivered and with these fuses.
    pub fn bit_time(self, fuses: &[FusePlan]) -> Time {
        match self.family {
            Family::Classic => classic::programmer::bit_time(self.chip, fuses),
        }
    }
}

pub use brown_out::choose as brown_out;
pub use clock::choose as clock;
pub use converter::choose as converter;
pub use power_down::choose as power_down;

pub use watchdog::{choose as watchdog, outlasts};
