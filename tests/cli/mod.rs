//! The tool as a person runs it: what it prints, where, and how it ends.

mod build;
mod colour;
mod completions;
mod data;
mod diff;
mod keys;
mod pictures;
mod project;
mod screens;
mod start;
mod support;
mod watch;
mod with;
