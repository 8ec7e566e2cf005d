//! The colour of a string's light.

use serde::Serialize;

use crate::design::Design;
use crate::light::Tint;
use crate::spec::Colour;
use crate::units::Luminance;

/// The colour of a channel at its full light: as it is said to be, or of its LEDs, or warm white, which most
/// strings of lights are.
pub fn tint(design: &Design, channel: usize) -> Tint {
    if let Some(light) = design.project.channels[channel].light {
        return Tint::of(light.value);
    }
    let strings = &design.project.electrics.strings;
    let string = strings.get(channel).and_then(Option::as_ref);
    let colour = string.and_then(|string| string.colour);
    of_leds(colour.unwrap_or(Colour::WarmWhite))
}

/// By eye and from memory: a white's correlated colour temperature, and of the others what is told from its
/// neighbours.
fn of_leds(colour: Colour) -> Tint {
    Tint(match colour {
        Colour::WarmWhite => [255, 197, 143],
        Colour::White => [255, 249, 253],
        Colour::Red => [255, 40, 20],
        Colour::Orange => [255, 105, 0],
        Colour::Amber => [255, 165, 0],
        Colour::Yellow => [255, 200, 0],
        Colour::Green => [40, 255, 90],
        Colour::Blue => [40, 110, 255],
    })
}

/// What a hill of lightness is drawn with, from its foot to its crest.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Slope {
    pub foot: String,
    pub side: String,
    pub crest: String,
}

/// Of a channel whose light has a colour, that; else of fire.
pub fn slope(design: &Design, channel: usize) -> Slope {
    let Some(light) = design.project.channels[channel].light else {
        return Slope {
            foot: "#8a3b1c".to_string(),
            side: "#f2a04a".to_string(),
            crest: "#fff3d2".to_string(),
        };
    };
    let tint = Tint::of(light.value);
    Slope {
        foot: tint.dimmed(Luminance(0.15)).to_string(),
        side: tint.to_string(),
        crest: tint.paler().to_string(),
    }
}

/// What a lamp is drawn with whose light is told by how opaque it is.
pub(super) fn steady(design: &Design, channel: usize) -> String {
    let light = design.project.channels[channel].light;
    light.map_or_else(
        || "#ffc46b".to_string(),
        |light| Tint::of(light.value).to_string(),
    )
}
