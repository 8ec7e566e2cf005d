//! Reads a light project. Nothing after this stage sees YAML.

pub mod project;

pub use project::*;
