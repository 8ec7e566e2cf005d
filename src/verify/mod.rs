//! Proof on the chip: the generated source is compiled, its ELF file read ([`Firmware`]) and run,
//! cycle by cycle, in a simulated part (`machine`, behind the cargo feature `simulator`).

#[cfg(feature = "simulator")]
pub mod behaviour;
#[cfg(feature = "simulator")]
pub mod bench;
mod check;
mod compile;
mod error;
mod evidence;
mod failure;
mod firmware;
#[cfg(feature = "simulator")]
pub mod machine;
#[cfg(feature = "simulator")]
pub mod pattern;
#[cfg(feature = "simulator")]
pub mod pump;
mod report;
mod run;
#[cfg(feature = "simulator")]
pub mod timing;
#[cfg(feature = "simulator")]
mod waveform;

pub use check::{Check, Limit, Outcome};
pub use compile::{compile, compile_as};
pub use error::{Missing, VerifyError};
pub use evidence::{
    ChannelEvidence, Evidence, InterruptEvidence, LightSeen, Milliseconds, PatternEvidence,
    PumpEvidence, SizeEvidence, TimingEvidence,
};
pub use failure::{Failure, LightFault};
pub use firmware::{Firmware, FirmwareError};
pub use run::{Options, Progress, verify, verify_with};
