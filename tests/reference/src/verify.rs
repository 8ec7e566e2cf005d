//! The simulated chip, as the published package has it.

#[path = "../../../src/verify/firmware.rs"]
mod firmware;
#[path = "../../../src/verify/machine/mod.rs"]
pub mod machine;

pub use self::firmware::{Firmware, FirmwareError};
