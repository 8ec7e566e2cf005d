//! Every test that takes duskloom from outside, a module a capability.
//!
//! One program: the library is linked once, and the tests of all capabilities share the cores.

mod common;

mod board;
mod budget;
mod chip;
mod circuit;
mod cli;
mod compilers;
mod conduct;
mod demos;
mod embedded;
mod fuzz;
mod light_packing;
mod light_standards;
mod long_times;
mod machine;
mod names;
mod once;
mod plan;
mod plan_wrong;
mod preview;
mod readme;
mod rust;
mod score;
mod see;
mod spec_damage;
mod spec_hostile;
mod spec_project;
mod spec_wrong;
mod strings;
mod structure;
mod verify;
mod whole_project;
