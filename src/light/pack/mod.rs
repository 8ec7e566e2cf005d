//! Packing: the smallest form, decoder included, whose light is close enough to the ideal.
//!
//! Every form is fitted as well as it can be, then judged by what the chip would make of it: each
//! level close enough to its ideal lightness (or nearly as close as the depth allows), dark exactly
//! dark, never falling, and no two levels alike unless the depth forces it. The smallest of those
//! that pass is taken. A plain table always passes.

mod form;
mod interpolated;
mod polynomial;
mod remez;
mod size;
mod window;

use crate::units::{DeltaLightness, Duty, Level};

use super::report::Figures;
use super::{Depth, Scale};
use window::Window;

pub use form::{Argument, Form};
pub use size::Size;

/// Rounds in which a fit is aimed at the error that the round before it reached.
const AIMS: usize = 4;

/// Where the depth alone errs more than allowed, a form may err this much more than the depth.
const COARSE_LIMIT: f64 = 1.25;

/// A brightness table as the firmware stores it.
#[derive(Debug, Clone)]
pub struct Packed {
    pub form: Form,
    /// Level 0 is dark by a test of its own, not by the form.
    pub gated: bool,
    /// What the chip keeps of the stored duty.
    pub depth: Depth,
    pub size: Size,
    /// What comes out of it, against the ideal.
    pub figures: Figures,
    /// It passes: close enough, dark at 0, rising, and distinct where the depth allows.
    pub passes: bool,
}

impl Packed {
    /// The duty that the chip computes for `level`, bit for bit.
    ///
    /// # Panics
    /// If the scale it was made for has no such level.
    pub fn duty(&self, level: Level) -> Duty {
        self.depth.cut(self.raw(level))
    }

    /// What the chip computes for `level` before it cuts that to its depth.
    ///
    /// # Panics
    /// If the scale it was made for has no such level.
    pub fn raw(&self, level: Level) -> u16 {
        match level {
            Level(0) if self.gated => 0,
            _ => self.form.raw(level).expect("a level of the scale"),
        }
    }
}

/// The smallest form that passes, for a chip with or without the `MUL` instruction.
pub fn pack(scale: &Scale, depth: Depth, has_mul: bool) -> Packed {
    let mut forms = alternatives(scale, depth, has_mul);
    let chosen = forms
        .iter()
        .position(|packed| packed.passes)
        .expect("a plain table passes");
    forms.swap_remove(chosen)
}

/// Every form that can express the scale at all, each fitted as well as it can be, the smallest
/// first.
pub fn alternatives(scale: &Scale, depth: Depth, has_mul: bool) -> Vec<Packed> {
    let plain = plain(scale, depth);
    let finest = Figures::of(scale, |level| depth.quantise(scale.luminance(level)));
    let limit = scale
        .allowed()
        .0
        .max(finest.largest_error.0.0 * COARSE_LIMIT)
        + 1e-9;
    let mut forms = vec![(plain, false)];
    for gated in [false, true] {
        let closed = (1..=3)
            .filter_map(|degree| {
                closest(scale, depth, gated, |windows| {
                    polynomial::fit(scale, windows, degree)
                })
            })
            .chain((2..=5).filter_map(|shift| {
                closest(scale, depth, gated, |windows| {
                    interpolated::fit(windows, shift)
                })
            }));
        forms.extend(closed.map(|form| (form, gated)));
    }
    forms.extend((2..=3).filter_map(|degree| {
        closest(scale, depth, false, |windows| {
            polynomial::fit_kneed(scale, windows, degree)
        })
        .map(|form| (form, false))
    }));
    let mut packed: Vec<Packed> = forms
        .into_iter()
        .map(|(form, gated)| {
            let of_level = |level| duty(&form, gated, depth, level).unwrap_or(Duty(0));
            let figures = Figures::of(scale, of_level);
            let passes = figures.rising
                && of_level(Level(0)) == Duty(0)
                && (figures.distinct == finest.distinct || finest.distinct < scale.count())
                && figures.largest_error.0.0 <= limit;
            let size = size::size(&form, gated, has_mul);
            Packed {
                form,
                gated,
                depth,
                size,
                figures,
                passes,
            }
        })
        .collect();
    packed.sort_by_key(|packed| packed.size.total());
    packed
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

/// Fits again and again, each time aiming at the error reached before, and keeps the best. Where
/// nothing can be fitted, a finer aim keeps nearer to the ideal, which always can be expressed.
fn closest(
    scale: &Scale,
    depth: Depth,
    gated: bool,
    fit: impl Fn(&[Window]) -> Option<Form>,
) -> Option<Form> {
    let mut best: Option<(Form, DeltaLightness)> = None;
    let mut aim = scale.allowed();
    for _ in 0..AIMS {
        let windows = window::windows(scale, depth, aim);
        let Some(form) = fit(&windows[usize::from(gated)..]) else {
            aim = DeltaLightness(aim.0 / 4.0);
            continue;
        };
        let of_level = |level| duty(&form, gated, depth, level).unwrap_or(Duty(0));
        let (error, _) = Figures::of(scale, of_level).largest_error;
        if best.as_ref().is_some_and(|&(_, least)| error >= least) {
            break;
        }
        aim = error;
        best = Some((form, error));
    }
    best.map(|(form, _)| form)
}

fn duty(form: &Form, gated: bool, depth: Depth, level: Level) -> Option<Duty> {
    match level {
        Level(0) if gated => Some(Duty(0)),
        _ => form.raw(level).map(|raw| depth.cut(raw)),
    }
}
