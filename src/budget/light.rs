//! What the eye gets: how fast the light is switched, and its slowest component.

use crate::design::Design;
use crate::drive::{Drive, PumpBy};
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
        Drive::Mixed(mixed) => format!("{} bits, {}: {}", pwm.bits(), mixed.title(), mixed.why),
    };
    if let Some(slowed) = &design.slowed {
        made += &format!(
            "; at {} the LEDs would be off by {}",
            slowed.from(),
            slowed.error
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

/// Why it is timers.
const ON_PWM_PINS: &str = "every channel is on a PWM pin";

/// What makes the light: why, how deep and how fast, and what it takes of the processor, out of sleep, of flash and of
/// memory.
pub(super) fn drive(design: &Design) -> String {
    let drive = &design.plan.drive;
    let pwm = drive.pwm();
    let why = drive.why().unwrap_or(ON_PWM_PINS);
    let pumping = drive.pumping().unwrap_or_default();
    let cost = drive.cost().without(pumping);
    let share = cost.share_with_waking(pwm.length);
    let title = match drive {
        Drive::Timer(_) => "timers".to_string(),
        Drive::Port(port) => port.title(),
        Drive::Mixed(mixed) => mixed.title(),
    };
    let frequency = match drive {
        Drive::Mixed(_) => format!("{} and {}", pwm.frequency, pwm.slowest),
        _ => pwm.frequency.to_string(),
    };
    format!(
        "{title} ({why}): {} bits at {frequency}; the interrupt takes {:.1} % of the processor, {} of flash \
         and {} of RAM",
        pwm.bits(),
        share * 100.0,
        cost.size,
        drive.in_memory()
    )
}

/// What clocks the charge pump beside a port, why, and what that takes.
pub(super) fn pump(design: &Design) -> Option<String> {
    let drive = &design.plan.drive;
    let pump = drive.pump().filter(|_| drive.planes().is_some())?;
    let [first, second] = &pump.pins;
    let (first, second) = (first.pin, second.pin);
    let by = match &pump.by {
        PumpBy::Timer => {
            format!("a timer that the light leaves free, whose outputs {first} and {second} are")
        }
        PumpBy::Interrupt(_) => format!(
            "the light's interrupt, as {first} and {second} are not two outputs of a free timer"
        ),
        PumpBy::Spare(_) => {
            let cost = drive.pumping()?;
            format!(
                "an interrupt of a timer that the light leaves free, as {first} and {second} are not two outputs \
                 of it; that takes {:.1} % of the processor and {} of flash",
                cost.share_with_waking(drive.pwm().length) * 100.0,
                cost.size
            )
        }
    };
    Some(format!("{}, by {by}", pump.clock))
}
