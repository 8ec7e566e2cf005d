//! Light in as many colours as the terminal has.

use ratatui::style::{Color, Modifier, Style};

use crate::light::Tint;
use crate::units::Luminance;

/// How many colours a terminal shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colours {
    /// 24 bits.
    True,
    /// The cube of 6 × 6 × 6 and the greys.
    Cube,
    /// Sixteen, whose looks are the person's own.
    Sixteen,
    None,
}

/// The steps of the cube.
const CUBE: [u8; 6] = [0, 95, 135, 175, 215, 255];

impl Colours {
    /// What a terminal shows, by its environment: the variables `NO_COLOR`, `COLORTERM` and `TERM`.
    pub fn of(variable: impl Fn(&str) -> Option<String>) -> Self {
        let term = variable("TERM").unwrap_or_default();
        let colorterm = variable("COLORTERM").unwrap_or_default();
        if variable("NO_COLOR").is_some_and(|set| !set.is_empty()) || term == "dumb" {
            Self::None
        } else if ["truecolor", "24bit"].contains(&colorterm.as_str()) || term.ends_with("-direct")
        {
            Self::True
        } else if term.contains("256") {
            Self::Cube
        } else {
            Self::Sixteen
        }
    }

    /// Whether light is shown by colour alone; else characters show how much there is.
    pub fn glows(self) -> bool {
        matches!(self, Self::True | Self::Cube)
    }

    /// How a lamp looks that gives so much of its light.
    pub fn lamp(self, tint: Tint, light: Luminance) -> Style {
        let Tint([red, green, blue]) = tint.dimmed(light);
        match self {
            Self::True => Style::new().fg(Color::Rgb(red, green, blue)),
            Self::Cube => Style::new().fg(Color::Indexed(nearest([red, green, blue]))),
            Self::Sixteen if light.0 > 0.0 => Style::new().fg(Color::Yellow),
            Self::Sixteen => Style::new().fg(Color::DarkGray),
            Self::None => Style::new(),
        }
    }

    /// What is less important.
    pub fn quiet(self) -> Style {
        match self {
            Self::None => Style::new(),
            _ => Style::new().add_modifier(Modifier::DIM),
        }
    }

    /// What matters.
    pub fn strong(self) -> Style {
        Style::new().add_modifier(Modifier::BOLD)
    }

    /// What warns.
    pub fn warning(self) -> Style {
        match self {
            Self::None => self.strong(),
            _ => self.strong().fg(Color::LightRed),
        }
    }
}

/// The colour of the cube, or the grey, that is nearest.
fn nearest(colour: [u8; 3]) -> u8 {
    let away = |other: [u8; 3]| -> i32 {
        let parts = colour.iter().zip(other);
        parts
            .map(|(&a, b)| (i32::from(a) - i32::from(b)).pow(2))
            .sum()
    };
    let cube = (0..216_u8).map(|at| {
        let part = |unit: u8| CUBE[usize::from(at / unit % 6)];
        (16 + at, [part(36), part(6), part(1)])
    });
    let greys = (0..24_u8).map(|at| (232 + at, [8 + 10 * at; 3]));
    cube.chain(greys)
        .min_by_key(|&(_, other)| away(other))
        .map_or(16, |(at, _)| at)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(set: &[(&str, &str)]) -> Colours {
        Colours::of(|name| {
            let found = set.iter().find(|(known, _)| *known == name);
            found.map(|(_, value)| (*value).to_string())
        })
    }

    #[test]
    fn terminals_say_what_they_can() {
        let xterm = ("TERM", "xterm-256color");
        assert_eq!(of(&[xterm, ("COLORTERM", "truecolor")]), Colours::True);
        assert_eq!(of(&[xterm]), Colours::Cube);
        assert_eq!(of(&[("TERM", "linux")]), Colours::Sixteen);
        assert_eq!(of(&[("TERM", "dumb")]), Colours::None);
        let refused = of(&[xterm, ("COLORTERM", "truecolor"), ("NO_COLOR", "1")]);
        assert_eq!(refused, Colours::None);
    }

    #[test]
    fn the_nearest_colour_of_the_cube_is_itself() {
        assert_eq!(nearest([0, 0, 0]), 16);
        assert_eq!(nearest([255, 255, 255]), 231);
        assert_eq!(nearest([255, 175, 135]), 16 + 5 * 36 + 3 * 6 + 2);
        assert_eq!(nearest([9, 8, 8]), 232);
    }
}
