//! Proof on the chip: the compiled firmware is read ([`Firmware`]) and run, cycle by cycle, in a
//! simulated part ([`machine`], behind the cargo feature `simulator`).

mod firmware;
#[cfg(feature = "simulator")]
pub mod machine;

pub use firmware::{Firmware, FirmwareError};
