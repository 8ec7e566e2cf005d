//! Where the chip departs from what it should do.

use std::fmt;

use serde::Serialize;

use crate::units::Duty;

/// The first thing that was wrong in a run.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Failure {
    /// A channel's duty differs from the model's.
    Duty {
        tick: u64,
        channel: String,
        model: Duty,
        chip: Duty,
    },
    /// Another scene starts than in the model, or at another tick.
    Scene {
        tick: u64,
        model: Option<String>,
        chip: Option<String>,
    },
    /// A byte of what the firmware remembers differs.
    State {
        tick: u64,
        model: Vec<u8>,
        chip: Vec<u8>,
    },
    /// The EEPROM is written otherwise than in the model: address and byte.
    Write {
        tick: u64,
        model: Option<(u16, u8)>,
        chip: Option<(u16, u8)>,
    },
    /// The light at a pin is not what the duty says.
    Light {
        seconds: f64,
        channel: String,
        duty: Duty,
        fault: LightFault,
    },
    /// A channel's pin was driven before the first tick had been worked out.
    LitEarly { channel: String },
    /// The firmware did what no chip could go on from.
    Fault { tick: u64, reason: String },
    /// The watchdog restarted it.
    Restart { tick: u64, seconds: f64 },
    /// One of chip and model goes off, and the other does not.
    Off { tick: u64, chip: bool },
    /// Off, it does not come to rest.
    Restless { seconds: f64 },
    /// Off, a pin is not as dark as it should be.
    Lit { channel: String },
    /// Ticks no longer come.
    Stuck { tick: u64, seconds: f64 },
}

/// What is wrong with the light at a pin, in counts of the timer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(tag = "fault", rename_all = "kebab-case")]
pub enum LightFault {
    /// A period's on-time is neither the duty's whole counts nor one more.
    Period { counts: f64 },
    /// All phases together do not make the duty.
    Sum { counts: f64, expected: f64 },
    /// More than one pulse in a period.
    Glitch { edges: u32 },
    /// Periods are not as long as planned: a timer was disturbed.
    Length { counts: f64 },
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let scene = |name: &Option<String>| name.clone().unwrap_or_else(|| "none".to_string());
        let write = |write: &Option<(u16, u8)>| match write {
            Some((address, byte)) => format!("{byte:#04x} at {address:#04x}"),
            None => "nothing".to_string(),
        };
        match self {
            Self::Duty {
                tick,
                channel,
                model,
                chip,
            } => write!(
                f,
                "tick {tick}, {channel}: the chip puts out {:#06x}, the model {:#06x}",
                chip.0, model.0
            ),
            Self::Scene { tick, model, chip } => write!(
                f,
                "tick {tick}: scene started on the chip: {}, in the model: {}",
                scene(chip),
                scene(model)
            ),
            Self::State { tick, model, chip } => write!(
                f,
                "tick {tick}: the chip remembers {chip:02x?}, the model {model:02x?}"
            ),
            Self::Write { tick, model, chip } => write!(
                f,
                "tick {tick}: the chip writes {} into the EEPROM, the model {}",
                write(chip),
                write(model)
            ),
            Self::Light {
                seconds,
                channel,
                duty,
                fault,
            } => write!(
                f,
                "{seconds:.6} s, {channel} at duty {:#06x}: {fault}",
                duty.0
            ),
            Self::LitEarly { channel } => {
                write!(f, "{channel} is driven before its first duty is known")
            }
            Self::Fault { tick, reason } => write!(f, "tick {tick}: {reason}"),
            Self::Restart { tick, seconds } => {
                write!(
                    f,
                    "tick {tick}: the watchdog restarts the firmware at {seconds:.3} s"
                )
            }
            Self::Off { tick, chip: true } => {
                write!(f, "tick {tick}: the chip goes off, the model does not")
            }
            Self::Off { tick, chip: false } => {
                write!(f, "tick {tick}: the model goes off, the chip does not")
            }
            Self::Restless { seconds } => {
                write!(
                    f,
                    "off, its clock does not stop: it still runs at {seconds:.3} s"
                )
            }
            Self::Lit { channel } => {
                write!(
                    f,
                    "off, the pin of `{channel}` is not held at its dark level"
                )
            }
            Self::Stuck { tick, seconds } => {
                write!(
                    f,
                    "tick {tick} never ends: no tick for a long time at {seconds:.3} s"
                )
            }
        }
    }
}

impl fmt::Display for LightFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Period { counts } => write!(f, "a period is lit for {counts} counts"),
            Self::Sum { counts, expected } => write!(
                f,
                "a cycle of all phases is lit for {counts} counts, not {expected}"
            ),
            Self::Glitch { edges } => write!(f, "{edges} edges in one period"),
            Self::Length { counts } => write!(f, "a period of {counts} counts"),
        }
    }
}
