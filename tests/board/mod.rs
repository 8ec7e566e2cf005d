//! The board: its circuits against a circuit simulator, its verdicts on whole projects.

mod cells;
mod electrics;
mod objections;
pub(crate) mod project;
mod pump;
mod pumped;
mod spice;
mod supplies;
mod verdicts;
mod wiring;
