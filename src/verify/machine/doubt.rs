//! Things a firmware does whose effect the machine cannot vouch for.

use std::fmt;

use super::moment::Moment;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// It uses a peripheral that is not modelled, by this register.
    NotModelled(&'static str),
    /// TSM holds a timer that counts the undivided clock: the datasheet's words and its drawing of
    /// the prescaler disagree on whether it stops.
    UndividedTimerHeld,
}

/// A doubt and when it first arose.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Doubted {
    pub at: Moment,
    pub doubt: Doubt,
}

impl fmt::Display for Doubt {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotModelled(register) => {
                write!(
                    f,
                    "the firmware uses {register}, whose peripheral is not simulated"
                )
            }
            Self::UndividedTimerHeld => write!(
                f,
                "TSM is set while a timer counts the undivided clock: the datasheet leaves open \
                 whether that timer stops"
            ),
        }
    }
}
