//! Whether it fits: flash, memory, time, flicker; each row with where its figure comes from.

mod code;

pub use code::{before_tables, interrupt_cycles, once};
