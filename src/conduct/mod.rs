//! What the light does: what follows from an event or the end of a time. A part of that has a folder, with
//! its layout and its step in the model.

mod beat;
mod dusk;
mod evening;
mod features;
mod memory;
mod once;
mod rules;
mod state;

pub mod fade;

pub use beat::{Beats, Dwell};
pub use dusk::{DAY, Dusk, NIGHT};
pub use evening::{EveningTicks, counted_in};
pub use features::Features;
pub use memory::{Memory, Records, Saved, Saving};
pub use once::Once;
pub use rules::{Action, Cause, Onward, Rules, roaming};
pub use state::{Kept, State};
