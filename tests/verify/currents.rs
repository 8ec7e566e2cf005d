//! Currents: what the model says a pattern draws is the integral over the chip's own waveform.

use duskloom::board::{self, Board};
use duskloom::design::Design;
use duskloom::units::Share;
use duskloom::verify::{ChannelEvidence, Options, PatternEvidence, verify};

use crate::verify::support::{design_of, folder};

/// How near they must be.
const NEAR: f64 = 0.001;

/// What the strings, and the supply, get in all when each channel is on for this share of time.
fn drawn(board: &Board, shares: &[Share]) -> f64 {
    let flow = board.circuit.flow(shares);
    let strings: f64 = flow.strings.iter().map(|amps| amps.0).sum();
    assert!(strings > 0.0, "the project tells of its strings");
    strings + flow.supply.0 + flow.input.0
}

fn played(design: &Design, scene: &str, seconds: f64) -> PatternEvidence {
    let options = Options {
        scenes: vec![scene.to_string()],
        seconds,
        alone: 0.0,
        behaviour: false,
        ..Options::default()
    };
    let mut evidence = verify(design, &options).expect("all tools are there");
    assert!(evidence.holds(), "{evidence}");
    evidence.patterns.remove(0)
}

fn same(demo: &str, scenes: &[&str]) {
    let design = design_of(folder("patterns").join(demo));
    let board = board::report(&design);
    for name in scenes {
        let report = board
            .scenes
            .iter()
            .find(|scene| scene.name == *name)
            .expect("the demo has it");
        // With a loop: long enough to be in it, however long the start takes.
        let seconds = report.period.map_or(12.0, |period| period.0 + 1.0);
        let chip = played(&design, name, seconds);
        let shares = |of: fn(&ChannelEvidence) -> Share| -> Vec<Share> {
            chip.channels.iter().map(of).collect()
        };
        let seen = drawn(&board, &shares(|channel| channel.lit));
        let meant = drawn(&board, &shares(|channel| channel.meant));
        agree(&format!("{demo} {name}, tick by tick"), meant, seen);
        if let Some(period) = report.period {
            // The same again and one loop more: the difference is a whole loop.
            let longer = played(&design, name, seconds + period.0);
            let loops = chip.channels.iter().zip(&longer.channels);
            let shares: Vec<Share> = loops
                .map(|(short, long)| {
                    let lit = long.light.lit - short.light.lit;
                    let elapsed = long.light.elapsed - short.light.elapsed;
                    Share(lit as f64 / elapsed as f64)
                })
                .collect();
            let seen = drawn(&board, &shares);
            let reported = drawn(&board, &report.on);
            agree(&format!("{demo} {name}, the mean"), reported, seen);
        }
    }
}

fn agree(what: &str, model: f64, chip: f64) {
    let off = model / chip - 1.0;
    println!("{what}: {:+.4} %", off * 100.0);
    assert!(off.abs() < NEAR, "{what}: {off:+.6}");
}

#[test_with::executable("avr-gcc")]
#[test]
fn harbour() {
    same("harbour.yaml", &["swell", "regatta", "evening"]);
}

#[test_with::executable("avr-gcc")]
#[test]
fn lantern() {
    same("lantern.yaml", &["calm"]);
}

#[test_with::executable("avr-gcc")]
#[test]
fn theatre() {
    same("theatre.yaml", &["applause", "ghost"]);
}
