//! Whole rounds of dithered PWM, and of one that gives each bit its time: the light of a level as the model has it and as ngspice measures it.
//!
//!     cargo test --test it circuit::cycles::renew -- --ignored

use std::collections::BTreeSet;

use duskloom::circuit::switch::Pulse;
use duskloom::drive::timer::Dither;
use duskloom::light::cie;
use duskloom::units::{Duty, Luminance, Seconds};
use serde::{Deserialize, Serialize};

use crate::common::measured;

use super::bench::COUNT;
use super::netlist::Circuit;

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/circuit/cycles.yaml");
/// Bits of depth beyond the timer's 8.
const EXTRA_BITS: u8 = 4;
/// How near the model must come, in L*.
const NEAR: f64 = 0.3;

/// How a duty is spread over time.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Way {
    /// Pulses of a timer, some of them a count longer, as the firmware has it.
    #[default]
    Dithered,
    /// A port that an interrupt writes: each bit of the duty for as long as it is worth.
    BitAngle,
}

#[derive(Debug, Serialize, Deserialize)]
struct Case {
    circuit: Circuit,
    #[serde(default, skip_serializing_if = "Way::is_default")]
    way: Way,
    /// In sixteenths of a count, of 4096: the levels.
    duties: Vec<u16>,
    /// Share of the time that the LED is lit, as if at full current.
    measured: Option<Vec<f64>>,
}

fn cases() -> Vec<Case> {
    measured::cases(FILE)
}

/// In which order the bits come; `None`: dark for a count, so that a round has 4096 of them.
const PLANES: [Option<u32>; 13] = [
    Some(5),
    Some(0),
    Some(1),
    Some(2),
    Some(3),
    Some(4),
    None,
    Some(6),
    Some(7),
    Some(8),
    Some(9),
    Some(10),
    Some(11),
];

impl Way {
    #[allow(clippy::trivially_copy_pass_by_ref, reason = "serde wants it so")]
    fn is_default(&self) -> bool {
        *self == Self::default()
    }

    /// A round of the pin.
    fn round(self, duty: u16) -> Vec<Pulse> {
        let counts = |on: u32, off: u32| {
            let [on, off] = [on, off].map(|counts| Seconds(f64::from(counts) * COUNT));
            Pulse { on, off }
        };
        match self {
            Self::Dithered => {
                let dither = Dither::new(EXTRA_BITS);
                let on = dither.counts(Duty(duty * 16)).map(u32::from);
                on.map(|on| counts(on, 256 - on)).collect()
            }
            Self::BitAngle => PLANES
                .iter()
                .map(|plane| match plane {
                    Some(bit) if duty >> bit & 1 == 1 => counts(1 << bit, 0),
                    Some(bit) => counts(0, 1 << bit),
                    None => counts(0, 1),
                })
                .collect(),
        }
    }
}

fn lightness(light: f64) -> f64 {
    cie::lightness(Luminance(light * 256.0 / 255.0)).0
}

#[test]
fn levels_are_within_a_third_of_a_step_of_lightness() {
    let cases = cases();
    for way in [Way::Dithered, Way::BitAngle] {
        let parts = cases.iter().filter(|case| case.way == way);
        let parts: BTreeSet<_> = parts.map(|case| case.circuit.part.clone()).collect();
        assert!(parts.len() >= 5, "{way:?}: {parts:?}");
    }
    for case in cases {
        let measured = case.measured.as_ref().expect("measured");
        assert!(case.duties.len() >= 20 && measured.len() == case.duties.len());
        let mut worst = (0.0, 0);
        for (&duty, &measured) in case.duties.iter().zip(measured) {
            let modelled = case.circuit.modelled_round(&case.way.round(duty));
            let off = (lightness(modelled) - lightness(measured)).abs();
            if off > worst.0 {
                worst = (off, duty);
            }
        }
        println!(
            "{:.2} L* at {}, {:?} in {:?}",
            worst.0, worst.1, case.way, case.circuit
        );
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
            .measured_round(&case.way.round(duty))
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
            let light = case.circuit.measured_round(&case.way.round(duty));
            (light.expect("ngspice is installed") * 1e7).round() / 1e7
        };
        case.measured = Some(case.duties.iter().map(measure).collect());
        case
    };
    measured::renew(FILE, cases().into_iter().map(anew));
}
