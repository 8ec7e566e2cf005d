//! Text timelines: how patterns of every length look, and that they hide nothing.

mod day;
mod honesty;
mod looks;
mod support;
