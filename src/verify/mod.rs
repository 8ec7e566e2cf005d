//! Proof on the chip: the generated source is compiled, its ELF file read ([`Firmware`]) and run,
//! cycle by cycle, in a simulated part ([`machine`]).

pub mod behaviour;
pub mod bench;
mod check;
mod compile;
mod difference;
mod error;
mod evidence;
mod failure;
mod firmware;
mod latch;
pub mod machine;
pub mod pattern;
mod planes;
pub mod pump;
mod put;
mod report;
mod run;
pub mod timing;
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
