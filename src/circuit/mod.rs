//! What hangs on the chip's pins: strings, charge pump, supply and battery, with values that can be
//! bought, and what flows through them at given duties.
//!
//! Nothing here knows what is played; that is the board's. What cannot be is an error before any
//! pattern is lowered.

mod base;
mod brown_out;
mod check;
pub mod diode;
mod flow;
mod lamp;
mod limiter;
mod measured;
mod preferred;
mod programming;
pub mod pump;
pub(crate) mod root;
mod sink;
mod string;
pub mod switch;
mod transistor;

pub use base::Base;
pub use check::check;
pub use flow::*;
pub use lamp::{GATE, PULL_DOWN, switching};
pub use measured::{knob_track, measured_current};
pub use programming::advice;
pub use sink::Sink;
pub use string::{Feed, Impossible, StringDesign};
pub use transistor::part;
