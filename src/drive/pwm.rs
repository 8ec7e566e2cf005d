//! What the PWM of a drive comes to.

use super::timer::Mode;
use crate::diagnostic::{Diagnostic, Notes, Spanned};
use crate::units::{Cycles, Hertz};

/// A frequency further than this from the one asked for gets a caution.
const WORTH_A_WORD: f64 = 0.01;

/// How far two frequencies are from each other, as a ratio.
pub(super) fn off(made: Hertz, wish: Hertz) -> f64 {
    libm::log(made.0 / wish.0).abs()
}

/// What is said of something that `runs` at another frequency than the one asked for. `None`: it is near enough.
pub(super) fn unmet(runs: &str, made: Hertz, wish: Hertz) -> Option<String> {
    let error = made.0 / wish.0 - 1.0;
    (error.abs() > WORTH_A_WORD).then(|| {
        format!(
            "{runs} at {made}, {:+.1} % from the {wish} asked for",
            error * 100.0
        )
    })
}

/// What a drive says where it cannot make a frequency.
pub(super) struct Makes {
    /// Such as `the PWM runs`.
    pub runs: &'static str,
    /// What makes it.
    pub by: &'static str,
    /// All that can be made.
    pub possible: String,
}

/// The offer nearest to the wish, as a ratio; a caution where it is not near.
pub(super) fn nearest<O: Copy>(
    offers: &[O],
    frequency: impl Fn(&O) -> Hertz,
    wish: Spanned<Hertz>,
    makes: Makes,
    notes: &mut Notes,
) -> O {
    let off = |offer: &O| off(frequency(offer), wish.value);
    let best = *offers
        .iter()
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .expect("not empty");
    if let Some(message) = unmet(makes.runs, frequency(&best), wish.value) {
        notes.add(
            Diagnostic::caution("C021", wish.span, message)
                .label(format!("the {} cannot make this", makes.by))
                .hint(format!("they make {}", makes.possible)),
        );
    }
    best
}

/// Frequencies in a row.
pub(super) fn listed(frequencies: impl Iterator<Item = Hertz>) -> String {
    let all: Vec<String> = frequencies.map(|one| one.to_string()).collect();
    all.join(", ")
}

/// What whoever asks a drive for its PWM needs to know.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PwmPlan {
    pub shape: Shape,
    /// Of one period.
    pub frequency: Hertz,
    /// Of the processor, in a period.
    pub length: Cycles,
    /// On-counts that mean the whole period: 256 or 255.
    pub whole: u16,
    /// Bits of depth beyond 8: 0 to 8.
    pub extra_bits: u8,
    /// The slowest component of the light at any level.
    pub slowest: Hertz,
}

/// How a period is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// One pulse, by a timer.
    Pulse(Mode),
    /// A plane for each bit of a code, by an interrupt that writes ports.
    BitAngle,
}

impl Shape {
    pub fn word(self) -> &'static str {
        match self {
            Self::Pulse(Mode::Fast) => "fast",
            Self::Pulse(Mode::PhaseCorrect) => "phase-correct",
            Self::BitAngle => "bit-angle",
        }
    }
}

impl PwmPlan {
    /// From one period to the next.
    pub fn cycles(&self) -> Cycles {
        self.length
    }

    /// Bits of depth.
    pub fn bits(&self) -> u8 {
        8 + self.extra_bits
    }
}
