//! What several capabilities need of each other's tests.

pub(crate) mod avr_gcc;
pub(crate) mod designs;
pub(crate) mod drawn_projects;
pub(crate) mod measured;
pub(crate) mod spice;
