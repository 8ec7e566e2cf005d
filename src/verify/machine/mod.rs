//! A simulated chip that runs a firmware as the datasheets say the real one does.
//!
//! The instruction core, timers, compare outputs, ports, EEPROM, watchdog, interrupts and sleep are
//! modelled here, each in a file of its own. What is taken into account:
//!
//! - times: 4 cycles to enter an interrupt and 4 more out of idle sleep; a halt of 4 cycles for an
//!   EEPROM read and 2 for the start of a write; 3.4 ms for the write itself;
//! - one instruction between the setting of the I flag and the next interrupt;
//! - waveforms: compare values that take effect at BOTTOM or TOP, every compare output and waveform
//!   mode, the direction of each pin, several timers with their own starts;
//! - sleep: SE and the mode respected, time skipped to the next event;
//! - resets: the clock goes on through a watchdog reset and the reset delay.
//!
//! What the firmware does that is not modelled shows up as a [`Fault`] or a [`Doubt`].
//!
//! ```no_run
//! use duskloom::units::Hertz;
//! use duskloom::verify::machine::{Machine, Moment, Pin, Watch};
//!
//! # fn main() -> Result<(), Box<dyn std::error::Error>> {
//! let mut chip = Machine::load("light.elf".as_ref(), "attiny2313a", Hertz(8e6))?;
//! let quay: Pin = "PB2".parse()?;
//! chip.watch(quay, Watch { edges: false, periods: true });
//! let tick = chip.symbol("tick_done").ok_or("no such symbol")?;
//! while chip.run_to(tick, Moment(80_000_000))? {
//!     for period in chip.take_periods() {
//!         println!("{}: {} of {} cycles", period.pin, period.high, period.length);
//!     }
//! }
//! # Ok(())
//! # }
//! ```

mod bus;
mod compare;
mod converter;
#[doc(hidden)]
pub mod core;
mod counter;
mod detector;
mod devices;
mod doubt;
mod eeprom;
mod external;
mod fault;
mod inspect;
mod meters;
mod modes;
mod moment;
mod pin;
mod pins;
mod prescaler;
mod requests;
mod reset;
mod routes;
mod run;
mod silicon;
mod sleep;
mod timer;
mod watchdog;

pub use self::bus::{Access, AccessKind};
pub use self::core::Geometry;
pub use self::doubt::{Doubt, Doubted};
pub use self::eeprom::{Programming, Torn};
pub use self::fault::{Fault, LoadError};
pub use self::meters::{InterruptMeter, Meters};
pub use self::moment::Moment;
pub use self::pin::{NotAPin, Pin};
pub use self::pins::{Edge, Level, Period, Watch};
pub use self::reset::{PowerUpMemory, Reset, ResetCause};
pub use self::run::{Machine, NOWHERE, PLACES, Places, Stop};
pub use self::silicon::{Silicon, SiliconError};
