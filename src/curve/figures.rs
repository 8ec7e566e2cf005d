//! The figures of a curve, and the forms it could be stored in.

use crate::board::{Lamp, Off, ideal};
use crate::design::Design;
use crate::drive::Drive;
use crate::light::{Depth, Form, Packed, alternatives as forms};
use crate::spec::Curve;

/// What the levels come to, as text.
pub(super) fn figures(design: &Design, lamps: &[Lamp]) -> String {
    let facts = facts_with_light(design, lamps);
    let rows = facts.iter().map(|(what, is)| format!("  {what:<19}{is}\n"));
    format!(
        "{}\n\n{}",
        design.project.name.value,
        rows.collect::<String>()
    )
}

/// What the levels come to: what a figure is about, and the figure.
pub fn facts(design: &Design) -> [(&'static str, String); 6] {
    let brightness = &design.project.brightness;
    let found = &design.deck.light.figures;
    let pwm = design.plan.drive.pwm();
    let depth = Depth::new(pwm.extra_bits);
    let made = match &design.plan.drive {
        Drive::Timer(_) => {
            let spread = match depth.extra_bits() {
                0 => String::new(),
                bits => format!(", and {bits} more spread over time"),
            };
            format!("8 of {} PWM at {}{spread}", pwm.shape.word(), pwm.frequency)
        }
        Drive::Port(port) => format!("{} at {}", port.title(), pwm.frequency),
        Drive::Mixed(mixed) => format!(
            "{} at {}, the port at {}",
            mixed.title(),
            pwm.frequency,
            pwm.slowest
        ),
    };
    [
        (
            "curve",
            format!(
                "{}, {} levels from {} to {}",
                name(&brightness.curve.value),
                brightness.levels.value,
                brightness.floor.value,
                brightness.ceiling.value
            ),
        ),
        ("depth", format!("{} bits: {made}", depth.bits())),
        ("slowest component", format!("{}", pwm.slowest)),
        (
            "distinct levels",
            format!("{} of {}", found.distinct, design.scale.count()),
        ),
        (
            "largest step",
            format!(
                "{}, to level {}",
                found.largest_step.0, found.largest_step.1.0
            ),
        ),
        (
            "largest error",
            format!(
                "{}, at level {}",
                found.largest_error.0, found.largest_error.1.0
            ),
        ),
    ]
}

/// The same, and the light at the LEDs.
pub fn facts_with_light(design: &Design, lamps: &[Lamp]) -> Vec<(&'static str, String)> {
    let at_led = ("at the LED", at_the_led(design, lamps));
    facts(design).into_iter().chain([at_led]).collect()
}

/// What switches and pump make of it.
fn at_the_led(design: &Design, lamps: &[Lamp]) -> String {
    let mut order: Vec<&Lamp> = lamps.iter().collect();
    let size = |lamp: &Lamp| lamp.error.typical.error.abs();
    order.sort_by(|a, b| size(b).total_cmp(&size(a)));
    let mut said: Vec<String> = Vec::new();
    for lamp in order {
        let name = &design.project.channels[lamp.channel].name.value;
        let Off { error, level } = lamp.error.typical;
        said.push(if said.is_empty() {
            format!("{name} {error:+.2} L* at level {}", level.0)
        } else {
            format!("{name} {error:+.2}")
        });
    }
    let unknown = ideal(design);
    match (unknown.as_slice(), said.as_slice()) {
        ([], []) => said.push("switches taken as ideal: nothing is said of `strings`".to_string()),
        ([], _) => {}
        (_, []) => said.push("switches taken as ideal: no `transistor` is named".to_string()),
        (unknown, _) => said.push(format!("switch taken as ideal: {}", unknown.join(", "))),
    }
    said.join("; ")
}

pub(super) fn name(curve: &Curve) -> String {
    match curve {
        Curve::Lightness => "lightness (CIE 1976)".to_string(),
        Curve::Power(exponent) => format!("power of {exponent}"),
        Curve::Logarithmic => "logarithmic (IEC 62386-102)".to_string(),
        Curve::Square => "square".to_string(),
        Curve::Linear => "linear".to_string(),
        Curve::Points(points) => format!("{} points of your own", points.len()),
    }
}

/// Every form that comes near, the smallest first.
pub(super) fn forms_of(design: &Design) -> Vec<Packed> {
    let depth = Depth::new(design.plan.drive.pwm().extra_bits);
    forms(&design.scale, depth, design.surroundings())
}

/// Every form that comes near, the one in use marked.
pub(super) fn alternatives(design: &Design) -> String {
    let used = &design.deck.light;
    let mut text = format!(
        "  {:<44}{:>6}{:>6}{:>7}{:>12}\n",
        "stored as", "data", "code", "total", "error"
    );
    for other in forms_of(design) {
        let mark = if other.form == used.form && other.gated == used.gated {
            '>'
        } else {
            ' '
        };
        let verdict = if other.passes { "" } else { "  too coarse" };
        text += &format!(
            "{mark} {:<44}{:>6}{:>6}{:>7}{:>12}{verdict}\n",
            described(&other),
            other.size.data.0,
            other.size.code.0,
            other.size.total().to_string(),
            other.figures.largest_error.0.to_string(),
        );
    }
    text
}

pub(super) fn described(packed: &Packed) -> String {
    let form = match &packed.form {
        Form::Plain8(duties) => format!("{} bytes", duties.len()),
        Form::Plain16(duties) => format!("{} numbers of two bytes", duties.len()),
        Form::Interpolated { shift, knots } => {
            format!("{} knots, {} levels apart", knots.len(), 1 << shift)
        }
        Form::Polynomial { coefficients, .. } => polynomial(coefficients),
        Form::Kneed {
            knee, coefficients, ..
        } => format!("line below level {}, {}", knee.0, polynomial(coefficients)),
    };
    if packed.gated {
        format!("{form}, dark by a test")
    } else {
        form
    }
}

fn polynomial(coefficients: &[i32]) -> String {
    match coefficients.len() {
        0..=2 => "line".to_string(),
        3 => "square polynomial".to_string(),
        4 => "cubic polynomial".to_string(),
        terms => format!("polynomial of degree {}", terms - 1),
    }
}
