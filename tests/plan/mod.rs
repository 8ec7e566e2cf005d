//! The planner: what a project comes to on its chip.

mod crystal;
mod lines;
mod notes;
mod pins;
mod port;
mod project;
mod pwm;
mod start;
mod tick;
