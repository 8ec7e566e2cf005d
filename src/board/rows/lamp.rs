//! What switches, pump and the LEDs themselves make of the light.

use super::{blamed, careful_if, row};
use crate::board::lamp::{ALLOWED, Guess, Known, Lamp, LampError, Off, worst};
use crate::design::Design;
use crate::diagnostic::Span;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::DeltaLightness;

/// Of the channel whose light is furthest off. `None`: nothing is known of any.
pub(super) fn led(lamps: &[Lamp], design: &Design) -> Option<Row> {
    let lamp = worst(lamps)?;
    let LampError { typical, .. } = lamp.error;
    let name = name(lamp.channel, design);
    let at = match &lamp.switch {
        Known::Named(part) => format!("`{name}` with its {part}"),
        Known::Sheet => format!("`{name}` with its transistor"),
        Known::Pin => format!("`{name}` on its pin"),
        Known::Ideal => format!("`{name}` on the pump, its switch taken as ideal"),
    };
    let mut note = format!("{at}: {}", left(&lamp.error));
    if lamp.not_rising > 0 {
        note += &format!("; {} levels do not rise", lamp.not_rising);
    }
    if let Some(remedy) = &lamp.remedy {
        note += &format!("; {} leaves {}", remedy.change, left(&remedy.error));
    }
    let row = row(
        ("led", "error at the LED"),
        lightness(typical.error.abs()),
        Limit::AtMost(lightness(ALLOWED)),
        Source::Computed,
        note,
    );
    Some(blamed(
        careful_if(lamp.error.is_seen(), row),
        "E023",
        string_at(lamp.channel, design),
        "another way to drive it, a quicker part, or a slower PWM, as `duskloom curve` lists them",
    ))
}

/// What is left of an error, over what parts spread.
fn left(error: &LampError) -> String {
    let Off {
        error: typical,
        level,
    } = error.typical;
    let mut text = format!("{typical:+.1} L* at level {}", level.0);
    if error.spreads() {
        let [half, more] = error.over_storage.map(|off| off.error);
        text += &format!(" ({half:+.1} to {more:+.1} with half to one and a half of its storage)");
    }
    text
}

/// Of the channel that an ordinary part would put furthest off. `None`: every switch is known.
pub(super) fn ideal(guesses: &[Guess], design: &Design) -> Option<Row> {
    let size = |guess: &Guess| guess.typical.error.abs();
    let worst = guesses.iter().max_by(|a, b| size(a).total_cmp(&size(b)))?;
    let Off { error, level } = worst.typical;
    let mut named: Vec<String> = guesses
        .iter()
        .map(|guess| format!("`{}`", name(guess.channel, design)))
        .collect();
    named.sort();
    let row = row(
        ("led-ideal", "error at the LED, part not named"),
        lightness(size(worst)),
        Limit::AtMost(lightness(ALLOWED)),
        Source::Estimated,
        format!(
            "switch taken as ideal: {}; an ordinary one (`{}`) would make {error:+.1} L* of `{}` at \
             level {}",
            named.join(", "),
            worst.part,
            name(worst.channel, design),
            level.0
        ),
    );
    Some(blamed(
        row,
        "E024",
        string_at(worst.channel, design),
        "name the part, and duskloom computes the light and what mends it",
    ))
}

/// Of the string that loses most when others on its pump are lit. `None`: none shares a pump.
pub(super) fn crosstalk(lamps: &[Lamp], design: &Design) -> Option<Row> {
    let shared = lamps
        .iter()
        .filter_map(|lamp| Some((lamp, lamp.crosstalk?)));
    let (lamp, lost) = shared.max_by(|a, b| a.1.0.total_cmp(&b.1.0))?;
    let row = row(
        ("pump-crosstalk", "light lost to others on the pump"),
        Quantity::Lightness(lost),
        Limit::AtMost(lightness(ALLOWED)),
        Source::Computed,
        format!(
            "`{}` at full light, when all else on the pump is lit too",
            name(lamp.channel, design)
        ),
    );
    Some(blamed(
        row,
        "E025",
        string_at(lamp.channel, design),
        "`drive: sink`, whose current does not follow the pump; less current, or larger capacitors",
    ))
}

fn lightness(lightness: f64) -> Quantity {
    Quantity::Lightness(DeltaLightness(lightness))
}

fn name(channel: usize, design: &Design) -> &str {
    &design.project.channels[channel].name.value
}

fn string_at(channel: usize, design: &Design) -> Span {
    let string = design.project.electrics.strings[channel].as_ref();
    string.map_or(design.project.chip.span, |string| string.span)
}
