//! A stretch of a course on which the light rises, falls or stays: never turns.

use std::f64::consts::PI;

use super::Moment;
use crate::diagnostic::Span;
use crate::spec::{Ease, Shape};
use crate::units::Share;

/// From one boundary to the next.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// The first one may have begun before the pattern did.
    pub begin: Moment,
    pub end: Moment,
    pub path: Path,
    /// The level is not where the stretch before it ended. False for the first stretch.
    pub jump: bool,
    /// The step it comes from.
    pub step: Span,
}

/// The course of a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Path {
    Still(Share),
    Fade {
        from: Share,
        to: Share,
        ease: Ease,
    },
    /// From one phase of the wave to a later one, in periods; both in the same half of a
    /// period, or of a saw in the same period.
    Wave {
        shape: Shape,
        low: Share,
        high: Share,
        phases: (f64, f64),
    },
}

impl Stretch {
    /// The share of the scale at a moment; before the stretch that of its beginning, after it the
    /// one it comes to.
    pub fn share(&self, at: Moment) -> Share {
        let passed = (at.0 - self.begin.0) / (self.end.0 - self.begin.0);
        self.path.share(passed.clamp(0.0, 1.0))
    }

    /// Where it begins.
    pub fn first(&self) -> Share {
        self.path.share(0.0)
    }

    /// Where it comes to.
    pub fn last(&self) -> Share {
        self.path.share(1.0)
    }
}

impl Path {
    /// The share when the part `x` (0 to 1) of the stretch has passed.
    fn share(&self, x: f64) -> Share {
        match *self {
            Path::Still(share) => share,
            Path::Fade { from, to, ease } => between(from, to, progress(ease, x)),
            Path::Wave {
                shape,
                low,
                high,
                phases: (first, last),
            } => {
                let upper_half = first + last > 1.0;
                between(
                    low,
                    high,
                    height(shape, first + (last - first) * x, upper_half),
                )
            }
        }
    }
}

fn between(low: Share, high: Share, x: f64) -> Share {
    Share(low.0 * (1.0 - x) + high.0 * x)
}

/// How far a fade has come when the part `x` of its time has passed.
fn progress(ease: Ease, x: f64) -> f64 {
    match ease {
        Ease::Linear => x,
        Ease::Soft => 3.0 * x.powi(2) - 2.0 * x.powi(3),
        Ease::SoftIn => x.powi(2),
        Ease::SoftOut => 1.0 - (1.0 - x).powi(2),
    }
}

/// The height of a wave at `phase`, 0 to 1, which is in the first or the second half; at the end
/// of it, what the wave comes to there.
pub(super) fn height(shape: Shape, phase: f64, upper_half: bool) -> f64 {
    match (shape, upper_half) {
        (Shape::Sine, _) => (PI * phase).sin().powi(2),
        (Shape::Triangle, false) => 2.0 * phase,
        (Shape::Triangle, true) => 2.0 - 2.0 * phase,
        (Shape::Saw, _) => phase,
        (Shape::Square, false) => 1.0,
        (Shape::Square, true) => 0.0,
    }
}
