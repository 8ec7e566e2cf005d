//! Proof on the chip: the generated source is compiled, its ELF file read ([`Firmware`]) and run,
//! cycle by cycle, in a simulated part ([`machine`], behind the cargo feature `simulator`).

#[cfg(feature = "simulator")]
pub mod bench;
mod compile;
mod error;
mod failure;
mod firmware;
#[cfg(feature = "simulator")]
pub mod machine;

pub use compile::compile;
pub use error::{Missing, VerifyError};
pub use failure::{Failure, LightFault};
pub use firmware::{Firmware, FirmwareError};
