//! The strings of lights, and what drives them.

use crate::diagnostic::Spanned;
use crate::units::Share;

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
}

impl Channel {
    /// Whether it is only switched.
    pub fn is_plain(&self) -> bool {
        self.drive.value == ChannelDrive::Plain
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
