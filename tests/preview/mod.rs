//! Text timelines: how patterns of every length look, and that they hide nothing.

mod honesty;
mod looks;
mod support;
