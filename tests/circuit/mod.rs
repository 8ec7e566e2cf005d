//! What hangs on the pins, against a circuit simulator.

mod bench;
mod choices;
mod cycles;
mod lamps;
mod netlist;
mod switch;
