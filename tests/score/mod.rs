//! Patterns: the three ways of saying them (steps, programs, bytes) mean the same.

mod decode;
mod draws;
mod examples;
mod follows;
mod leaps;
mod light;
mod long;
mod monotone;
mod projects;
mod rig;
mod sketch;
