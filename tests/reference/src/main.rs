//! Compares the instruction core with simavr's: random instructions on random states, and whole
//! firmwares. Known differences, each with its reason, are in [`faults`].

mod cases;
mod faults;
mod lockstep;
mod other;
mod state;
#[path = "../../../src/units.rs"]
#[allow(dead_code)]
mod units;
#[allow(dead_code, unused_imports)]
mod verify;

fn main() {
    cases::compare();
    lockstep::compare();
}
