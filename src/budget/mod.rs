//! Whether it fits: flash, memory, time, flicker; each row with where its figure comes from.

mod assembly;
mod code;
mod flash;
pub mod main_c;

pub use assembly::{Listing, Rounds};
pub use code::{before_tables, interrupt_cycles, once};
pub use flash::Flash;
