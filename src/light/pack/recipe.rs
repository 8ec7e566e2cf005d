//! The forms that are tried. To add one: a variant here, its arithmetic in `form`, its cost in
//! `size`.

use crate::units::Level;

use super::super::{Depth, Scale};
use super::form::{Argument, Form};
use super::interpolated;
use super::polynomial::{self, Signs};
use super::window::Window;

/// A form to be filled with numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Recipe {
    Plain,
    Polynomial {
        degree: usize,
        argument: Argument,
        signs: Signs,
    },
    /// The polynomial above the knee is a cubic: lightness is one there.
    Kneed {
        argument: Argument,
    },
    Interpolated {
        /// Knots every 2^`shift` levels.
        shift: u8,
    },
}

impl Recipe {
    /// All that suit levels 0 to `top`, of several of a kind the likelier one first.
    pub(super) fn all(top: Level) -> Vec<Self> {
        let mut all = vec![Recipe::Plain];
        for argument in Argument::up_to(top) {
            for signs in [Signs::Positive, Signs::Mixed] {
                let degrees = 1..=3;
                all.extend(degrees.map(|degree| Recipe::Polynomial {
                    degree,
                    argument,
                    signs,
                }));
            }
            all.push(Recipe::Kneed { argument });
        }
        all.extend((2..=5).map(|shift| Recipe::Interpolated { shift }));
        all
    }

    /// Whether both are the same to a person: they differ at most in how x is scaled and added up.
    pub(super) fn is_like(self, other: Self) -> bool {
        match (self, other) {
            (Recipe::Polynomial { degree: a, .. }, Recipe::Polynomial { degree: b, .. }) => a == b,
            (Recipe::Kneed { .. }, Recipe::Kneed { .. }) => true,
            _ => self == other,
        }
    }

    /// The form that keeps near the middles of the windows, as far as this form can; gated, the
    /// window of level 0 does not count. `None`: not even nearly.
    pub(super) fn fit(
        self,
        scale: &Scale,
        depth: Depth,
        windows: &[Window],
        gated: bool,
    ) -> Option<Form> {
        let lit = &windows[usize::from(gated)..];
        match self {
            Recipe::Plain => Some(plain(scale, depth)),
            Recipe::Polynomial {
                degree,
                argument,
                signs,
            } => polynomial::fit(scale, lit, argument, degree, signs),
            Recipe::Kneed { argument } => polynomial::fit_kneed(scale, windows, argument),
            Recipe::Interpolated { shift } => interpolated::fit(lit, shift),
        }
    }

    /// Whether a gate can do anything for it: a table has an entry for dark, and a knee a line
    /// to it.
    pub(super) fn can_be_gated(self) -> bool {
        matches!(
            self,
            Recipe::Polynomial { .. } | Recipe::Interpolated { .. }
        )
    }

    /// The form as small as it can come out, with numbers that mean nothing.
    pub(super) fn outline(self, scale: &Scale, depth: Depth) -> Form {
        match self {
            Recipe::Plain => plain(scale, depth),
            Recipe::Polynomial {
                degree,
                argument,
                signs,
            } => {
                let mut coefficients = vec![0; degree + 1];
                if signs == Signs::Mixed {
                    coefficients[0] = -1;
                }
                Form::Polynomial {
                    argument,
                    coefficients,
                }
            }
            Recipe::Kneed { argument } => {
                let coefficients = vec![0; 4];
                Form::Kneed {
                    argument,
                    knee: Level(1),
                    line: [0; 2],
                    coefficients,
                }
            }
            Recipe::Interpolated { shift } => Form::Interpolated {
                shift,
                knots: vec![0; interpolated::knots(scale.top(), shift)],
            },
        }
    }
}

/// One entry a level, rounded to the depth.
fn plain(scale: &Scale, depth: Depth) -> Form {
    let duties = scale
        .levels()
        .map(|level| depth.quantise(scale.luminance(level)).0);
    match depth.extra_bits() {
        0 => Form::Plain8(duties.map(|duty| (duty >> 8) as u8).collect()),
        _ => Form::Plain16(duties.collect()),
    }
}
