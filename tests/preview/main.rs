//! Text timelines: how patterns of every length look, and that they hide nothing.

#[path = "../common/designs.rs"]
mod designs;
mod honesty;
mod looks;
mod support;
