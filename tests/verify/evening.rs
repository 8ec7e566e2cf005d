//! Whole evenings and nights, with nothing passed over, on chips whose watchdog is slow or fast.

use duskloom::emit;
use duskloom::verify::machine::{Machine, Silicon};

use crate::common::avr_gcc;
use crate::verify::support::{design_of, folder};

/// Days in a row.
const DAYS: usize = 4;

/// The moments, in seconds, at which the firmware starts, and those at which its evening is over.
fn days(pace: f64) -> (Vec<f64>, Vec<f64>) {
    let design = design_of(folder("tests/verify/projects").join("chapel-85.yaml"));
    let project = duskloom::spec::Project {
        standby: None,
        ..design.project.clone()
    };
    let design = duskloom::design::Design::new(project).expect("it does without standby");
    let firmware = avr_gcc::build(&emit::firmware(&design)).firmware;
    let part = Silicon::named("attiny85").unwrap();
    let mut machine = Machine::new(firmware, part, design.plan.clock.frequency).unwrap();
    machine.set_watchdog_pace(pace);
    let (main, night) = (
        machine.symbol("main").unwrap(),
        machine.symbol("night").unwrap(),
    );
    let seconds = |machine: &Machine| machine.seconds(machine.now().0);
    let (mut starts, mut ends) = (Vec::new(), Vec::new());
    for _ in 0..DAYS {
        for (place, moments) in [(main, &mut starts), (night, &mut ends)] {
            let limit = machine.now() + 400_000_000;
            assert!(
                machine.run_to(place, limit).unwrap(),
                "it comes to {place:#x}"
            );
            moments.push(seconds(&machine));
        }
    }
    assert_eq!(machine.resets().len(), 1, "nothing has restarted it");
    (starts, ends)
}

/// A minute lit, and the next one five minutes after it began, whatever the watchdog's pace: the first period after
/// power comes is as long as the others here, so a day is off by what is left of a period at its two ends.
#[test_with::executable("avr-gcc")]
#[test]
fn days_follow_each_other_whatever_the_watchdogs_pace() {
    for pace in [1.0, 0.9, 1.1, 0.7, 1.35] {
        let (starts, ends) = days(pace);
        let period = 1.024 / pace;
        for (start, end) in starts.iter().zip(&ends) {
            let lit = end - start;
            assert!((lit - 60.5).abs() < 0.6, "lit for {lit:.2} s");
        }
        for pair in starts.windows(2) {
            let day = pair[1] - pair[0];
            assert!(
                (day - 300.0).abs() < 5.0 * period,
                "pace {pace}: a day of {day:.2} s"
            );
        }
        let mean = (starts[DAYS - 1] - starts[0]) / (DAYS - 1) as f64;
        assert!(
            (mean - 300.0).abs() < 2.5 * period,
            "pace {pace}: on average {mean:.2} s"
        );
    }
}
