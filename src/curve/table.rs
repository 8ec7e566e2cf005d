//! The levels, row by row.

use crate::board::{Lamp, worst};
use crate::design::Design;
use crate::light::{LevelRow, rows};
use crate::units::{Hertz, Lightness};

use super::Style;

/// A row for every level, or for every so many.
pub(super) fn table(design: &Design, lamps: &[Lamp], style: &Style) -> String {
    let pwm = design.plan.drive.pwm();
    let all = rows(
        &design.scale,
        |level| design.deck.light.duty(level),
        pwm.whole,
    );
    let last = all.len() - 1;
    let lamp = worst(lamps);
    let spread = lamp.and_then(|lamp| lamp.light.over_storage.as_ref());
    let mut text = format!(
        "{:>7}{:>9}{:>12}{:>9}{:>8}{:>12}{:>11}{:>13}{}{}\n",
        "level",
        "share",
        "L* wanted",
        "L* real",
        "error",
        "on-counts",
        "duty",
        "slowest",
        lamp.map_or("", |_| "   at LED"),
        spread.map_or("", |_| "        with others")
    );
    for (at, row) in all.iter().enumerate() {
        if at % style.every == 0 || at == last {
            let at_level = |light: &Vec<Lightness>| light[usize::from(row.level.0)];
            let at_led = lamp.map(|lamp| at_level(&lamp.light.typical));
            let with_others = spread.map(|[half, more]| [at_level(half), at_level(more)]);
            let slowest = design.plan.drive.slowest(row.duty);
            text += &line(row, slowest, at_led, with_others);
        }
    }
    text += &format!(
        "\n  on-counts: of the {} in a PWM period, on average. A channel's trim comes on top.\n",
        pwm.whole
    );
    if lamp.is_none() {
        text += "  L* real: as the pin has it, the switch taken as ideal.\n";
    }
    if let Some(lamp) = lamp {
        let name = &design.project.channels[lamp.channel].name.value;
        text += &format!(
            "  at LED: L* of {name}, which is furthest off; a pulse below {:.0} ns is dark.\n",
            lamp.least_pulse.0 * 1e9
        );
        if spread.is_some() {
            text += "  with others: of the same name that store half as long, and half as long again.\n";
        }
    }
    text
}

fn line(
    row: &LevelRow,
    slowest: Option<Hertz>,
    at_led: Option<Lightness>,
    with_others: Option<[Lightness; 2]>,
) -> String {
    let error = row.real.0 - row.ideal.0;
    let error = if error.abs() < 0.005 {
        "0".to_string()
    } else {
        format!("{error:+.2}")
    };
    format!(
        "{:>7}{:>9}{:>12.2}{:>9.2}{:>8}{:>12.4}{:>11}{:>13}{}{}\n",
        row.level.0,
        format!("{:.1} %", row.share.0 * 100.0),
        row.ideal.0,
        row.real.0,
        error,
        f64::from(row.duty.0) / 256.0,
        format!("{:.3} %", row.on.0 * 100.0),
        slowest.map_or_else(|| "-".to_string(), |slowest| slowest.to_string()),
        at_led.map_or_else(String::new, |at_led| format!("{:>9.2}", at_led.0)),
        with_others.map_or_else(String::new, |[half, more]| {
            format!("{:>9.2} to {:>6.2}", half.0, more.0)
        }),
    )
}
