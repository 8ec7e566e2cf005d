//! The demos, as `duskloom verify` proves them: a minute of every scene, ten minutes left alone.

use duskloom::verify::{Options, verify};

use crate::verify::support::{design_of, folder};

fn prove(demo: &str) {
    let design = design_of(folder("patterns").join(demo));
    let evidence = verify(&design, &Options::default()).unwrap();
    assert!(evidence.holds(), "{evidence}");
}

#[test_with::executable("avr-gcc")]
#[test]
fn harbour() {
    prove("harbour.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn lantern() {
    prove("lantern.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn theatre() {
    prove("theatre.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn lane() {
    prove("lane.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn guesthouse() {
    prove("guesthouse.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn watermill() {
    prove("watermill.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn seawall() {
    prove("seawall.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn roundabout() {
    prove("roundabout.yaml");
}

#[test_with::executable("avr-gcc")]
#[test]
fn observatory() {
    prove("observatory.yaml");
}
