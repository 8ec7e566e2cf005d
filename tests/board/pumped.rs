//! The light of strings on a charge pump, whose voltage falls as they are lit.

use duskloom::board::{Lamp, lamps, report};
use duskloom::circuit;
use duskloom::design::Design;
use duskloom::light::cie;
use duskloom::units::Luminance;

use crate::board::project::made_of;
use crate::board::spice::{Case, Part};

/// Two strings of 2 mA each on three stages; BAT85 by the parameters of `spice.rs`.
fn pumped(first: &str, second: &str) -> Design {
    let design = made_of(&format!(
        "chip: attiny2313a\nclock: 8 MHz internal\nchannels: [bow, stern]\n\
         brightness: {{levels: 64}}\n\
         patterns: {{glow: [{{to: 100 %, over: 2 s}}, {{to: 0 %, over: 2 s}}]}}\n\
         charge_pump: {{pins: [PD0, PD1], stages: 3, capacitor: 1 uF, reservoir: 10 uF, \
         diode: [[1 mA, 225 mV], [10 mA, 299 mV]]}}\n\
         strings:\n  bow: {{leds: 3, forward: 3.0 V, current: 2 mA{first}}}\n  \
         stern: {{leds: 3, forward: 3.0 V, current: 2 mA{second}}}\n"
    ));
    let (_, faults) = circuit::check(&design.project, &design.plan);
    assert!(faults.is_empty(), "{faults:?}");
    design
}

fn bow(first: &str, second: &str) -> Lamp {
    lamps(&pumped(first, second)).remove(0)
}

/// With an ideal switch all of the error is the pump's. The study that the model comes from has up to +2.2 L* for
/// one string, and 1.7 to 3.4 L* that a second one of 2 mA takes from it.
#[test]
fn a_string_on_a_pump_is_off_its_curve_and_dims_with_others() {
    let lamp = bow("", "");
    let error = lamp.error.typical.error;
    assert!((1.0..3.0).contains(&error), "{error}");
    let lost = lamp.crosstalk.expect("it shares its pump").0;
    assert!((1.7..5.0).contains(&lost), "{lost}");
    let board = report(&pumped("", ""));
    let crosstalk = board.rows.iter().find(|row| row.name == "pump-crosstalk");
    assert!(crosstalk.is_some_and(duskloom::row::Row::beyond));
}

/// A sink's current follows neither: within 0.2 L* of the curve that the pin has, and 0.01 L* of crosstalk.
#[test]
fn a_sink_does_not_see_the_pump() {
    let sink = ", transistor: 2n3904, drive: sink";
    let (pumped, other) = (bow(sink, ""), bow(sink, sink));
    for lamp in [&pumped, &other] {
        assert!(lamp.crosstalk.expect("it shares its pump").0 <= 0.01);
        assert!(lamp.error.typical.error.abs() <= 1.0, "{:?}", lamp.error);
    }
    // And it is what is proposed for a string that is plain.
    let plain = bow(", transistor: 2n3904", "");
    let remedy = plain.remedy.expect("there is one");
    assert_eq!(remedy.change, "`drive: sink`");
    assert_eq!(remedy.error, pumped.error);
}

/// The same figures from ngspice's pump at three loads, by Ohm's law and the formula of CIE 1976.
#[test_with::executable("ngspice")]
#[test]
fn ngspice_s_pump_dims_a_string_as_much() {
    let design = pumped("", "");
    let (hung, pump) = (
        design.circuit.strings[0].expect("it is given"),
        design.circuit.pump.expect("it is given"),
    );
    let volts = |milliamps: f64| {
        let case = Case {
            stages: 3,
            capacitor: 1.0,
            reservoir: 10.0,
            clock: pump.clock.0,
            driver: pump.driver.0,
            diode: Part::Schottky,
            load: milliamps,
            measured: None,
        };
        case.measure().expect("ngspice runs").volts
    };
    // The current settles where pump and string agree.
    let resistor = hung.string.resistor.0;
    let settled = |times: f64| {
        let mut current = 2.0;
        for _ in 0..4 {
            current = (volts(current * times) - 9.2) / resistor * 1e3;
        }
        current
    };
    let (alone, both, half) = (settled(1.0), settled(2.0), settled(0.5));
    let lightness = |share: f64| cie::lightness(Luminance(share)).0;
    let lamp = &lamps(&design)[0];
    let lost = 100.0 - lightness(both / alone);
    assert!(
        (lamp.crosstalk.expect("it shares its pump").0 - lost).abs() < 0.4,
        "{lost}"
    );
    // Lit half of the time: the level nearest to it.
    let droop = lightness(0.5 * half / alone) - lightness(0.5);
    let levels = design.scale.levels();
    let modelled = levels.zip(&lamp.light.typical).map(|(level, light)| {
        let on = f64::from(design.deck.duty(0, level).0) / 256.0 / 255.0;
        ((on - 0.5).abs(), light.0 - lightness(on))
    });
    let nearest = modelled
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .expect("there are levels");
    assert!((nearest.1 - droop).abs() < 0.3, "{nearest:?} {droop}");
}
