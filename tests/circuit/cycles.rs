//! Whole rounds of dithered PWM: the light of a level as the model has it and as ngspice measures it.
//!
//!     cargo test --test it circuit::cycles::renew -- --ignored

use duskloom::drive::timer::Dither;
use duskloom::light::cie;
use duskloom::units::Luminance;
use serde::{Deserialize, Serialize};

use crate::common::measured;

use super::netlist::Circuit;

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/circuit/cycles.yaml");
/// Bits of depth beyond the timer's 8.
const EXTRA_BITS: u8 = 4;
/// How near the model must come, in L*.
const NEAR: f64 = 0.3;

#[derive(Debug, Serialize, Deserialize)]
struct Case {
    circuit: Circuit,
    /// In sixteenths of a count, of 4096: the levels.
    duties: Vec<u16>,
    /// Share of the time that the LED is lit, as if at full current.
    measured: Option<Vec<f64>>,
}

fn cases() -> Vec<Case> {
    measured::cases(FILE)
}

/// On-counts of each period of a round.
fn counts(duty: u16) -> Vec<u32> {
    let fraction = ((duty % 16) * 16) as u8;
    let dither = Dither::new(EXTRA_BITS);
    let carries = dither.carries(fraction);
    carries
        .map(|carry| u32::from(duty / 16) + u32::from(carry))
        .collect()
}

fn lightness(light: f64) -> f64 {
    cie::lightness(Luminance(light * 256.0 / 255.0)).0
}

#[test]
fn levels_are_within_a_third_of_a_step_of_lightness() {
    let cases = cases();
    assert!(cases.len() >= 5);
    for case in cases {
        let measured = case.measured.as_ref().expect("measured");
        assert!(case.duties.len() >= 20 && measured.len() == case.duties.len());
        let mut worst = (0.0, 0);
        for (&duty, &measured) in case.duties.iter().zip(measured) {
            let modelled = case.circuit.modelled_round(&counts(duty));
            let off = (lightness(modelled) - lightness(measured)).abs();
            if off > worst.0 {
                worst = (off, duty);
            }
        }
        println!("{:.2} L* at {} in {:?}", worst.0, worst.1, case.circuit);
        assert!(worst.0 <= NEAR, "{worst:?} {:?}", case.circuit);
    }
}

#[test_with::executable("ngspice")]
#[test]
fn ngspice_still_measures_the_same() {
    for case in cases() {
        let (duty, then) = (case.duties[3], case.measured.expect("measured")[3]);
        let now = case
            .circuit
            .measured_round(&counts(duty))
            .expect("ngspice runs");
        assert!(
            (lightness(now) - lightness(then)).abs() < 0.05,
            "{now} {then}"
        );
    }
}

#[test]
#[ignore = "takes a minute; writes cycles.yaml"]
fn renew() {
    let anew = |mut case: Case| {
        let measure = |&duty: &u16| {
            let light = case.circuit.measured_round(&counts(duty));
            (light.expect("ngspice is installed") * 1e7).round() / 1e7
        };
        case.measured = Some(case.duties.iter().map(measure).collect());
        case
    };
    measured::renew(FILE, cases().into_iter().map(anew));
}
