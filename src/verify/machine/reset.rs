//! Starts of the firmware.

use super::moment::Moment;

/// A restart of the firmware.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reset {
    /// When it struck; the firmware starts again after the start-up delay.
    pub at: Moment,
    pub cause: ResetCause,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ResetCause {
    PowerOn,
    /// The reset pin.
    External,
    BrownOut,
    Watchdog,
}

impl ResetCause {
    /// Its bit of MCUSR: PORF, EXTRF, BORF, WDRF.
    pub(super) fn flag(self) -> u8 {
        match self {
            Self::PowerOn => 1 << 0,
            Self::External => 1 << 1,
            Self::BrownOut => 1 << 2,
            Self::Watchdog => 1 << 3,
        }
    }
}

/// What the RAM and the working registers hold when power comes on: the datasheets promise nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerUpMemory {
    Zeros,
    /// Bytes drawn with this seed.
    Random(u64),
}
