//! The demos.

use duskloom::verify::{Options, verify};

use crate::support::{design_of, folder};

fn prove(demo: &str) {
    let design = design_of(&folder("patterns").join(demo));
    let options = Options {
        seconds: 5.0,
        alone: 20.0,
        ..Options::default()
    };
    let evidence = verify(&design, &options).unwrap();
    assert!(evidence.holds(), "{evidence}");
}

#[test]
fn harbour() {
    prove("harbour.yaml");
}

#[test]
fn lantern() {
    prove("lantern.yaml");
}

#[test]
fn theatre() {
    prove("theatre.yaml");
}
