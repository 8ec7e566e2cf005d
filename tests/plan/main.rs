//! The planner: what a project comes to on its chip.

mod project;

use duskloom::plan::plan;
use project::*;

#[test]
fn show() {
    let mut p = project("attiny2313a", &["PB2", "PD5", "PB3", "PB4"]);
    p.button = button("PD2");
    p.charge_pump = pump(["PD0", "PD1"], None);
    println!(
        "{:#?}",
        plan(&p).map(|plan| (
            plan.clock,
            plan.channels,
            plan.timers,
            plan.start,
            plan.pwm,
            plan.interrupt,
            plan.tick,
            plan.pump,
            plan.fuses,
            plan.cautions
        ))
    );
    println!(
        "{:#?}",
        plan(&project("atmega328p", &["", "", "", "", "", ""])).map(|plan| (
            plan.clock,
            plan.channels,
            plan.timers,
            plan.start,
            plan.pwm
        ))
    );
}
