//! What the switches make of the light.

use super::{blamed, row};
use crate::board::lamp::{ALLOWED, Lamp, Off, ideal};
use crate::design::Design;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::DeltaLightness;

/// Of the channel whose light is furthest off. `None`: nothing is known of any switch.
pub(super) fn led(lamps: &[Lamp], design: &Design) -> Option<Row> {
    let lamp = crate::board::lamp::worst(lamps)?;
    let Off { error, level } = lamp.typical;
    let name = &design.project.channels[lamp.channel].name.value;
    let at = match lamp.part.as_str() {
        "" => format!("`{name}` on its pin"),
        part => format!("`{name}` with its {part}"),
    };
    let [half, more] = lamp.over_storage.map(|off| off.error);
    let mut note = format!("{at}: {error:+.1} L* at level {}", level.0);
    if (half - more).abs() >= 0.05 {
        note += &format!("; {half:+.1} to {more:+.1} with half to one and a half of the storage");
    }
    if lamp.not_rising > 0 {
        note += &format!("; {} levels do not rise", lamp.not_rising);
    }
    if let Some(remedy) = &lamp.remedy {
        note += &format!("; {} leaves {:+.1} L*", remedy.change, remedy.off.error);
    }
    let unknown = ideal(design, lamps);
    if !unknown.is_empty() {
        let names: Vec<String> = unknown.iter().map(|name| format!("`{name}`")).collect();
        note += &format!("; the switch of {} is taken as ideal", names.join(", "));
    }
    let figure = |error: f64| Quantity::Lightness(DeltaLightness(error.abs()));
    let string = design.project.electrics.strings[lamp.channel].as_ref();
    let row = row(
        ("led", "error at the LED"),
        figure(error),
        Limit::AtMost(figure(ALLOWED)),
        Source::Computed,
        note,
    );
    Some(blamed(
        row,
        "E023",
        string.map_or(design.project.chip.span, |string| string.span),
        "another way to drive it, a quicker part, or a slower PWM",
    ))
}
