//! A plan as lines a person can check against the datasheet, a snapshot for each kind of timer.

use std::fmt::Write as _;

use duskloom::plan::{Plan, plan};
use duskloom::spec::{Active, ClockSource, Project};
use duskloom::target::Write;
use duskloom::units::Time;

use crate::plan::project::{at, button, clock, project, pump};

fn written(assign: &Write) -> String {
    let bits = if assign.bits.is_empty() {
        "number".to_string()
    } else {
        assign.bits.join(" | ")
    };
    format!(
        "{} = 0x{:02X} ({bits}; {:?})",
        assign.register, assign.value, assign.reach
    )
}

fn lines(plan: &Plan) -> String {
    let mut text = String::new();
    let mut line = |line: String| writeln!(text, "{line}").unwrap();
    let clock = &plan.clock;
    line(format!(
        "clock {} from {}, prescaler bits {:?}, from {}",
        clock.frequency, clock.oscillator, clock.prescaler_bits, clock.least_supply
    ));
    let drive = plan.drive.timer().expect("these are timers'");
    for output in &drive.outputs {
        line(format!(
            "{} {} {} ({:?}), {:?}",
            output.pin, output.output, output.compare, output.reach, output.polarity
        ));
    }
    for timer in &drive.timers {
        timer
            .setup
            .iter()
            .for_each(|setup| line(format!("set   {}", written(setup))));
        line(format!("from  {}", written(&timer.preset)));
    }
    drive
        .common
        .start
        .reset
        .iter()
        .for_each(|reset| line(format!("reset {}", written(reset))));
    drive
        .common
        .start
        .go
        .iter()
        .for_each(|go| line(format!("go    {}", written(go))));
    let pwm = &drive.timing;
    line(format!(
        "{:?} / {}: {}, {} counts, {} extra bits down to {}",
        pwm.mode, pwm.prescaler, pwm.frequency, pwm.period, pwm.extra_bits, pwm.slowest
    ));
    let interrupt = &plan.handlers()[0];
    line(format!(
        "{} ({}), {}",
        interrupt.vector,
        interrupt.number,
        written(&interrupt.enable)
    ));
    let tick = &plan.tick;
    line(format!(
        "tick {} + {}/65536 overflows, {}, whole {}, {:.3} ppm",
        tick.overflows, tick.fraction, tick.rate, tick.whole_ticks, tick.error_ppm
    ));
    for port in plan.drive.directions() {
        line(format!("{} = 0x{:02X}", port.register, port.mask));
    }
    let pump = plan.drive.pump();
    if let Some((pump, by)) = pump.and_then(|pump| Some((pump, pump.toggling()?))) {
        line(format!(
            "pump {} 0x{:02X} every {} ({:?}, xor {}): {}",
            by.toggle.register, by.mask, by.every, by.toggle.reach, by.toggle.by_xor, pump.clock
        ));
    }
    if let Some(button) = &plan.button {
        line(format!("button {} in {}", button.pin, button.input));
    }
    if let Some(watchdog) = &plan.watchdog {
        line(format!(
            "watchdog {} ({})",
            watchdog.on.write.bits.join(" | "),
            watchdog.time
        ));
    }
    for fuse in &plan.fuses {
        line(format!(
            "{} 0x{:02X} {}",
            fuse.memory, fuse.value, fuse.reason
        ));
    }
    text
}

fn planned(project: &Project) -> String {
    lines(&plan(project).unwrap_or_else(|errors| panic!("{errors:?}")))
}

#[test]
fn both_classic_timers_undivided() {
    let mut harbour = project("attiny2313a", &["PB2", "PD5", "PB3", "PB4"]);
    harbour.button = button("PD2");
    harbour.charge_pump = pump(["PD0", "PD1"], None);
    harbour.watchdog = Some(at(Time::from_millis(2000)));
    insta::assert_snapshot!(planned(&harbour));
}

#[test]
fn three_timers_one_of_them_beyond_out() {
    insta::assert_snapshot!(planned(&project("atmega328p", &[""; 6])));
}

#[test]
fn three_timers_divided_start_on_one_edge() {
    let mut slow = project("atmega88", &["PD5", "PB1", "PD3"]);
    slow.pwm.frequency = Some(at(duskloom::units::Hertz(1960.8)));
    insta::assert_snapshot!(planned(&slow));
}

#[test]
fn a_timer_with_its_own_top() {
    insta::assert_snapshot!(planned(&project("attiny85", &["PB4", "PB0"])));
}

#[test]
fn a_timer_with_its_own_top_divided() {
    let mut slow = project("attiny85", &["PB4", "PB0"]);
    slow.pwm.frequency = Some(at(duskloom::units::Hertz(3906.25)));
    insta::assert_snapshot!(planned(&slow));
}

#[test]
fn the_ten_bit_timer_with_active_low_strings() {
    let mut sign = project("attiny861a", &["PB5", "PB1", "PB3"]);
    sign.channels[0].active = at(Active::Low);
    insta::assert_snapshot!(planned(&sign));
}

#[test]
fn the_ten_bit_timer_in_phase_correct_mode() {
    let mut sign = project("attiny861a", &["PB3"]);
    sign.pwm.mode = at(duskloom::spec::PwmMode::PhaseCorrect);
    insta::assert_snapshot!(planned(&sign));
}

#[test]
fn one_register_timer_and_a_pump_by_exclusive_or() {
    let mut old = project("atmega8", &["PB3", "PB1"]);
    old.charge_pump = pump(["PD0", "PD1"], Some(8e3));
    insta::assert_snapshot!(planned(&old));
}

#[test]
fn four_kinds_of_timer_from_a_crystal() {
    let mut big = project("atmega32u4", &["PB7", "PB5", "PC6", "PC7"]);
    big.clock = clock(16e6, ClockSource::Crystal);
    big.button = button("PF5");
    insta::assert_snapshot!(planned(&big));
}

#[test]
fn the_smallest_chip() {
    insta::assert_snapshot!(planned(&project("attiny13a", &["", ""])));
}
