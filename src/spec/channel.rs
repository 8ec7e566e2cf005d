//! The strings of lights, and what drives them.

use std::fmt;

use crate::diagnostic::Spanned;
use crate::units::{Kelvin, Nanometres, Share};

/// Index of a channel in [`Project::channels`](super::Project::channels).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ChannelId(pub u8);

/// One string of lights and the pin that drives it.
#[derive(Debug, Clone)]
pub struct Channel {
    pub name: Spanned<String>,
    /// Such as `PB2`, upper case. `None`: the planner picks one.
    pub pin: Option<Spanned<String>>,
    /// Groups it is in, by name; group names and channel names share one namespace.
    pub groups: Vec<Spanned<String>>,
    /// Scales the light (luminance) of a string that looks brighter than the others; 1: untouched.
    pub trim: Spanned<Share>,
    /// The pin level that lights the string.
    pub active: Spanned<Active>,
    pub drive: Spanned<ChannelDrive>,
    /// `None`: nothing is said of it.
    pub light: Option<Spanned<Glow>>,
}

impl Channel {
    /// Whether it is only switched.
    pub fn is_plain(&self) -> bool {
        self.drive.value == ChannelDrive::Plain
    }
}

/// The colour of a string's light: a matter of pictures and parts lists, not of the firmware.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Glow {
    /// Of a black body, or of a white that looks like one.
    White(Kelvin),
    /// Of one wavelength.
    Pure(Nanometres),
    /// Of a screen: sRGB, 8 bits each, not all of them 0.
    Screen([u8; 3]),
}

impl fmt::Display for Glow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::White(temperature) => write!(f, "{temperature}"),
            Self::Pure(wavelength) => write!(f, "{wavelength}"),
            Self::Screen([red, green, blue]) => write!(f, "#{red:02X}{green:02X}{blue:02X}"),
        }
    }
}

/// What is done with a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ChannelDrive {
    /// Any of the levels.
    Dimmed,
    /// On from half of the scale up, and else off.
    Plain,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Active {
    High,
    Low,
}
