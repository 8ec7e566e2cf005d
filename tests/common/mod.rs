//! What several capabilities need of each other's tests.

pub mod avr_gcc;
pub mod designs;
pub mod drawn_projects;
pub mod measured;
pub mod spice;
