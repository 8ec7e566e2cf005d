//! PWM frequency and depth against the datasheet's formulas.

use duskloom::drive::timer::Mode;
use duskloom::plan::plan;
use duskloom::spec::{ClockSource, PwmMode};
use duskloom::units::Hertz;
use proptest::prelude::*;

use crate::plan::project::{at, clock, project};

/// ATmega328P datasheet (DS40002061), 'Fast PWM Mode': f = f_clk / (N · 256); 'Phase Correct PWM Mode':
/// f = f_clk / (N · 510). Worked at 16 MHz.
#[test]
fn frequencies_follow_the_datasheet() {
    let sixteen = Hertz(16e6);
    for (prescaler, fast, phase_correct) in [
        (1, 62_500.0, 31_372.549),
        (8, 7_812.5, 3_921.568_6),
        (64, 976.562_5, 490.196_1),
        (256, 244.140_6, 122.549),
        (1024, 61.035_2, 30.637_3),
    ] {
        let near = |mode: Mode, hertz: f64| {
            assert!((mode.frequency(sixteen, prescaler).0 / hertz - 1.0).abs() < 1e-5);
        };
        near(Mode::Fast, fast);
        near(Mode::PhaseCorrect, phase_correct);
    }
}

/// Without a wish: as fast as can be, as deep as the slowest component allows. 8 MHz / 256 = 31,250 Hz;
/// a sixteenth of it is 1953 Hz, a thirty-second 977 Hz.
#[test]
fn depth_is_what_the_slowest_component_allows() {
    let eight = *plan(&project("attiny2313a", &["PB2"])).unwrap().drive.pwm();
    assert_eq!((eight.frequency, eight.extra_bits), (Hertz(31_250.0), 4));
    assert_eq!(eight.slowest, Hertz(1953.125));

    let mut twenty = project("attiny2313a", &["PB2"]);
    twenty.clock = clock(20e6, ClockSource::Crystal);
    let twenty = *plan(&twenty).unwrap().drive.pwm();
    assert_eq!((twenty.frequency, twenty.extra_bits), (Hertz(78_125.0), 5));

    let mut exact = project("attiny2313a", &["PB2"]);
    exact.pwm.slowest = at(Hertz(31_250.0 / 8.0));
    assert_eq!(
        plan(&exact).unwrap().drive.pwm().extra_bits,
        3,
        "as slow as allowed is allowed"
    );

    let mut deep = project("attiny2313a", &["PB2"]);
    deep.pwm.slowest = at(Hertz(20.0));
    assert_eq!(
        plan(&deep).unwrap().drive.pwm().extra_bits,
        8,
        "a byte of fraction is the most"
    );
}

#[test]
fn a_wish_picks_the_nearest_of_both_modes() {
    let mut trial = project("attiny2313a", &["PB2", "PB3"]);
    trial.pwm.frequency = Some(at(Hertz(16e3)));
    let plan = plan(&trial).unwrap();
    let timing = &plan.drive.timer().unwrap().timing;
    assert_eq!((timing.mode, timing.prescaler), (Mode::PhaseCorrect, 1));
    assert_eq!((timing.period, timing.whole), (510, 255));
}

proptest! {
    /// Whatever is asked for: nothing is slower than allowed, one more bit of depth would be, no other
    /// setting is nearer to the wish, and an error of more than 1 % is spoken of.
    #[test]
    fn a_wish_is_met_as_nearly_as_can_be(
        wish in 300.0..100_000.0f64,
        slowest in 50.0..3_000.0f64,
        mode in prop::sample::select(vec![PwmMode::Auto, PwmMode::Fast, PwmMode::PhaseCorrect]),
    ) {
        let mut trial = project("atmega168", &["PD6", "PB1", "PD3"]);
        trial.pwm.frequency = Some(at(Hertz(wish)));
        trial.pwm.slowest = at(Hertz(slowest));
        trial.pwm.mode = at(mode);
        let modes: &[Mode] = match mode {
            PwmMode::Auto => &[Mode::Fast, Mode::PhaseCorrect],
            PwmMode::Fast => &[Mode::Fast],
            PwmMode::PhaseCorrect => &[Mode::PhaseCorrect],
        };
        let off = |hertz: f64| (hertz / wish).ln().abs();
        let nearest = modes
            .iter()
            .flat_map(|mode| [1, 8, 64, 256, 1024].map(|by| mode.frequency(Hertz(8e6), by).0))
            .min_by(|a, b| off(*a).total_cmp(&off(*b)))
            .unwrap();
        match plan(&trial) {
            Err(errors) => {
                prop_assert!(nearest < slowest);
                prop_assert_eq!(errors[0].code, "C022");
            }
            Ok(plan) => {
                let pwm = plan.drive.pwm();
                prop_assert_eq!(pwm.frequency.0, nearest);
                prop_assert!(pwm.slowest.0 >= slowest);
                prop_assert!(pwm.extra_bits == 8 || pwm.slowest.0 / 2.0 < slowest);
                let said = plan.cautions.iter().any(|caution| caution.code == "C021");
                prop_assert_eq!(said, (nearest / wish - 1.0).abs() > 0.01);
            }
        }
    }
}
