//! The compiled firmware of every project in `projects/`, and of every demo, does on the simulated
//! chip what the model says; and when it does not, the proof fails.

mod currents;
mod demos;
mod evening;
mod faults;
mod long;
mod missing;
mod projects;
mod shown;
mod slow;
mod support;
