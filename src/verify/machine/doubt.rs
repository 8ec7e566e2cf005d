//! Things a firmware does whose effect the machine cannot vouch for.

use std::fmt;

use super::converter::Unsaid;
use super::moment::Moment;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// It uses a peripheral that is not modelled, by this register.
    NotModelled(&'static str),
    /// TSM holds a timer that counts the undivided clock: the datasheet's words and its drawing of
    /// the prescaler disagree on whether it stops.
    UndividedTimerHeld,
    /// It asks the analogue-to-digital converter for what is not modelled.
    Converter(Unsaid),
    /// The converter is on in power-down, where it draws current for nothing.
    ConverterAsleep,
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
            Self::Converter(unsaid) => write!(
                f,
                "the firmware has the converter {}, which is not simulated",
                match unsaid {
                    Unsaid::Reference => "measure against another reference than the supply",
                    Unsaid::Interrupt => "interrupt",
                    Unsaid::Trigger => "started by a trigger",
                }
            ),
            Self::ConverterAsleep => f.write_str(
                "the converter is on while the chip is powered down: it draws current for nothing",
            ),
            Self::UndividedTimerHeld => write!(
                f,
                "TSM is set while a timer counts the undivided clock: the datasheet leaves open \
                 whether that timer stops"
            ),
        }
    }
}
