//! The model of a switch against ngspice transients.
//!
//! What ngspice measured is kept in `switch.yaml`, so that the comparison runs without it; where
//! ngspice is installed some circuits are measured anew. All of them, and the file:
//!
//!     cargo test --test it circuit::switch::renew -- --ignored

use duskloom::circuit::switch::{Bipolar, Device, Mosfet, entries};
use duskloom::spec::{BipolarFigures, MosfetFigures};
use duskloom::units::{Amps, Farads, Seconds, Volts};
use serde::{Deserialize, Serialize};

use crate::common::measured;

use super::netlist::{Circuit, Kind};

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/circuit/switch.yaml");

/// How near the model must come, in nanoseconds…
const NEAR: f64 = 30.0;
/// …and with figures from a datasheet.
const NEAR_FROM_SHEET: f64 = 125.0;
/// Where a circuit is marked as far, the model has this at the most.
const FAR: f64 = 130.0;

#[derive(Debug, Serialize, Deserialize)]
struct Case {
    circuit: Circuit,
    /// The model is known to come less near.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    far: bool,
    /// Extra on-time in nanoseconds of 1, 2, 3, 4, 8, 16, 64 counts of 125 ns.
    measured: Option<Vec<f64>>,
}

impl Case {
    fn worst(&self, modelled: &[f64]) -> f64 {
        let measured = self.measured.as_ref().expect("measured");
        let off = modelled.iter().zip(measured).map(|(a, b)| (a - b).abs());
        off.fold(0.0, f64::max)
    }
}

fn cases() -> Vec<Case> {
    measured::cases(FILE)
}

#[test]
fn extra_on_time_is_within_thirty_nanoseconds() {
    let cases = cases();
    let near: Vec<&Case> = cases.iter().filter(|case| !case.far).collect();
    assert!(near.len() >= 45, "only {} circuits", near.len());
    for entry in entries() {
        let of = near.iter().filter(|case| case.circuit.part == entry.name);
        assert!(of.count() >= 2, "too few circuits with {}", entry.name);
    }
    let mut all: Vec<(f64, String)> = near
        .iter()
        .map(|case| {
            let modelled = case.circuit.modelled();
            (case.worst(&modelled), format!("{case:?}\n  {modelled:.0?}"))
        })
        .collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    println!("{} circuits, within {:.0} ns", all.len(), all[0].0);
    let beyond: Vec<_> = all.iter().filter(|(worst, _)| *worst > NEAR).collect();
    for (worst, case) in &beyond {
        println!("{worst:.0} ns in {case}");
    }
    assert!(beyond.is_empty());
}

#[test]
fn where_it_is_far_it_is_not_lost() {
    let cases = cases();
    let far: Vec<&Case> = cases.iter().filter(|case| case.far).collect();
    assert!(!far.is_empty());
    for case in far {
        let worst = case.worst(&case.circuit.modelled());
        assert!((NEAR..FAR).contains(&worst), "{worst:.0} ns in {case:?}");
    }
}

/// Figures as printed in the datasheets (from memory).
fn sheets() -> [(&'static str, Device); 5] {
    let bipolar = |storage: f64, collector: f64, base: f64, hfe, input: f64, output: f64| {
        let sheet = BipolarFigures {
            storage: Seconds(storage * 1e-9),
            collector: Amps(collector * 1e-3),
            base: Amps(base * 1e-3),
            hfe,
            input: Farads(input * 1e-12),
            output: Farads(output * 1e-12),
        };
        Device::Bipolar(Bipolar::of_sheet(&sheet).expect("it saturates"))
    };
    let mosfet = |threshold, input: f64, output: f64| {
        Device::Mosfet(Mosfet::of_sheet(&MosfetFigures {
            threshold: Volts(threshold),
            input: Farads(input * 1e-12),
            output: Farads(output * 1e-12),
        }))
    };
    [
        ("2n3904", bipolar(200.0, 10.0, 1.0, 100.0, 8.0, 4.0)),
        ("2n2222", bipolar(225.0, 150.0, 15.0, 100.0, 25.0, 8.0)),
        ("2n4401", bipolar(225.0, 150.0, 15.0, 100.0, 30.0, 6.5)),
        ("2n7000", mosfet(2.1, 60.0, 25.0)),
        ("ao3400", mosfet(1.0, 630.0, 75.0)),
    ]
}

#[test]
fn figures_from_a_datasheet_come_within_an_eighth_of_a_microsecond() {
    let cases = cases();
    let mut off = Vec::new();
    for (name, part) in sheets() {
        let of = cases
            .iter()
            .filter(|case| !case.far && case.circuit.part == name);
        for case in of {
            let modelled = case.circuit.extra(&case.circuit.with(Some(part)));
            let worst = case.worst(&modelled);
            println!("{worst:.0} ns in {case:?}\n  {modelled:.0?}");
            off.push(worst);
        }
    }
    off.sort_by(f64::total_cmp);
    println!(
        "median {:.0} ns, most {:.0} ns",
        off[off.len() / 2],
        off[off.len() - 1]
    );
    assert!(off.len() >= 20);
    assert!(off[off.len() - 1] <= NEAR_FROM_SHEET);
}

/// The cures of the catalogue's NPNs, in the same circuit.
#[test]
fn a_sink_is_the_quickest_and_a_clamp_beats_nothing() {
    let cases = cases();
    let worst = |kind: Kind| {
        let of = cases
            .iter()
            .filter(|case| case.circuit.kind == kind && case.circuit.speed_up == 0.0 && !case.far);
        let longest = of.map(|case| case.measured.as_ref().expect("measured")[6].abs());
        longest.fold(0.0, f64::max)
    };
    assert!(worst(Kind::Sink) < 80.0);
    assert!(worst(Kind::Sink) < worst(Kind::Clamped));
    assert!(worst(Kind::Clamped) < worst(Kind::Npn));
}

/// Every seventh circuit, so that a run takes seconds.
#[test_with::executable("ngspice")]
#[test]
fn ngspice_still_measures_the_same() {
    for case in cases().iter().step_by(7) {
        let now = case.circuit.measured().expect("ngspice runs");
        assert!(case.worst(&now) < 3.0, "{now:?} {case:?}");
    }
}

#[test]
#[ignore = "takes a while; writes switch.yaml"]
fn renew() {
    let anew = |mut case: Case| {
        case.measured = Some(case.circuit.measured().expect("ngspice is installed"));
        case
    };
    measured::renew(FILE, cases().into_iter().map(anew));
}
