//! What the eye gets: how fast the light is switched, and its slowest component.

use crate::design::Design;
use crate::drive::Drive;
use crate::row::{Limit, Quantity, Row, Source};

/// The rows that concern flicker.
pub(super) fn rows(design: &Design) -> Vec<Row> {
    let pwm = design.plan.drive.pwm();
    let wanted = design.project.pwm.slowest.value;
    let mut made = match &design.plan.drive {
        Drive::Timer(_) => match pwm.extra_bits {
            0 => "8 bits, none of them spread over time".to_string(),
            extra => format!("{} bits, {extra} of them spread over time", pwm.bits()),
        },
        Drive::Port(port) => format!("{} bits, {}: {}", pwm.bits(), port.title(), port.why),
    };
    if let Some(slowed) = &design.slowed {
        made += &format!(
            "; at {} the LEDs would be off by {}",
            slowed.from, slowed.error
        );
    }
    vec![
        Row::judged(
            ("pwm", "PWM frequency"),
            Quantity::Hertz(pwm.frequency),
            Limit::None,
            1.0,
            Source::Computed,
            made,
        ),
        Row::judged(
            ("flicker", "slowest component of the light"),
            Quantity::Hertz(pwm.slowest),
            Limit::AtLeast(Quantity::Hertz(wanted)),
            1.0,
            Source::Computed,
            "at any level".to_string(),
        ),
    ]
}
