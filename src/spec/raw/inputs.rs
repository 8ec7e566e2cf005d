//! Contacts, and what is played once.

use crate::diagnostic::Spanned;
use crate::spec::project::ButtonTo;
use crate::spec::read::{Needed, PinName, record};
use crate::units::Time;

/// The name of a pattern that is played once.
pub(in crate::spec) type Played = Needed<Spanned<String>>;

record! {
    /// A contact from its pin to ground, or to the supply: a door's, a reed's, the output of a motion
    /// sensor. It plays a pattern once each time it closes; then the scene before comes back.
    Input: "an input such as `{pin: PD3, plays: welcome}`" {
        /// Its pin, such as `PD3`; any that is free.
        pin: Spanned<PinName>,
        /// The pattern that it plays.
        plays: Played,
        /// How long the pattern plays. Default: one round of it.
        r#for: Option<Spanned<Time>>,
        /// What it connects its pin to while it is closed. Default: ground.
        to: Option<Spanned<ButtonTo>>,
        /// How long it must be closed to count, and then open before it counts again. Default: 25 ms.
        debounce: Option<Spanned<Time>>,
    }
}

record! {
    /// What is played once when power comes, before the first scene.
    Start: "what is played first, such as `{plays: welcome}`" {
        /// The pattern.
        plays: Played,
        /// How long the pattern plays. Default: one round of it.
        r#for: Option<Spanned<Time>>,
    }
}
