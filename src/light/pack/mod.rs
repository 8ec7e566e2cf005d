//! Packing: the smallest form, decoder included, whose light is close enough to the ideal.
//!
//! Every form is fitted as well as it can be, then judged by what the chip would make of it: each
//! level close enough to its ideal lightness, dark exactly dark, never falling, and no two levels
//! alike unless the depth forces it. The smallest of those that pass is taken. A plain table always
//! passes.

mod form;
mod interpolated;
mod polynomial;
mod recipe;
mod remez;
mod size;
mod text;
mod window;

use crate::units::{DeltaLightness, Duty, Level};

use super::report::Figures;
use super::{Depth, FULL, Scale};
use recipe::Recipe;

pub use form::{Argument, Form};
pub use size::{Size, Surroundings, TEMPLATES};
pub use text::DecoderText;

/// Rounds in which a fit is aimed at the error that the round before it reached.
const AIMS: usize = 4;

/// What the first round aims at, times the limit. A little too wide finds the best whole numbers
/// more often than too narrow: tried with cubics for lightness at 11 to 16 bits.
const FIRST_AIM: f64 = 1.5;

/// A form that errs so many times the error allowed is not worth another round, or a mention.
const HOPELESS: f64 = 2.5;

/// Where the depth alone errs more than allowed, a form may err this much more than the depth does:
/// ten times the flash for the last fifth would serve no one.
const COARSE: f64 = 1.25;

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
    /// It will do: close enough, dark at 0, never falling, and distinct where the depth allows.
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

/// The smallest form that passes, among what else there is; of equals, the simpler one.
///
/// Its largest error is within [`Scale::allowed`], or, where the depth is too coarse for that,
/// within 1.25 times what the depth alone errs.
pub fn pack(scale: &Scale, depth: Depth, around: Surroundings) -> Packed {
    let packer = Packer::new(scale, depth, around);
    let mut smallest: Option<Packed> = None;
    for (least, recipe, gated) in packer.attempts() {
        if smallest
            .as_ref()
            .is_some_and(|found| found.size.total() <= least.total())
        {
            break;
        }
        smallest = packer
            .attempt(recipe, gated)
            .filter(|packed| packed.passes)
            .filter(|new| {
                smallest
                    .as_ref()
                    .is_none_or(|s| new.size.total() < s.size.total())
            })
            .or(smallest);
    }
    smallest.expect("a plain table passes")
}

/// Every form that comes near at all, fitted as well as it can be, the smallest first: what a
/// smaller error costs, and what a larger one saves.
pub fn alternatives(scale: &Scale, depth: Depth, around: Surroundings) -> Vec<Packed> {
    let packer = Packer::new(scale, depth, around);
    let error = |packed: &Packed| packed.figures.largest_error.0;
    let mut tried: Vec<(Recipe, Packed)> = packer
        .attempts()
        .into_iter()
        .filter_map(|(_, recipe, gated)| Some((recipe, packer.attempt(recipe, gated)?)))
        .collect();
    // Which is the cheaper of two tells only the size that each came to.
    tried.sort_by_key(|(_, packed)| packed.size.total());
    let mut all: Vec<(Recipe, Packed)> = Vec::new();
    for (recipe, packed) in tried {
        let near = error(&packed).0 <= HOPELESS * packer.limit.0;
        // A gate or a subtraction costs something, so it must bring something.
        let useful = all
            .iter()
            .filter(|(other, _)| other.is_like(recipe))
            .all(|(_, cheaper)| {
                (packed.passes && !cheaper.passes) || error(&packed).0 < 0.9 * error(cheaper).0
            });
        if near && useful {
            all.push((recipe, packed));
        }
    }
    all.into_iter().map(|(_, packed)| packed).collect()
}

/// Makes packed forms of one scale, and judges them.
struct Packer<'a> {
    scale: &'a Scale,
    depth: Depth,
    around: Surroundings,
    /// What the depth itself makes of the scale.
    finest: Figures,
    /// The largest error that passes.
    limit: DeltaLightness,
}

impl<'a> Packer<'a> {
    fn new(scale: &'a Scale, depth: Depth, around: Surroundings) -> Self {
        let finest = Figures::of(scale, |level| depth.quantise(scale.luminance(level)));
        let limit = DeltaLightness(scale.allowed().0.max(COARSE * finest.largest_error.0.0));
        Self {
            scale,
            depth,
            around,
            finest,
            limit,
        }
    }

    /// What to try, with the least size it can come to, the smallest first.
    fn attempts(&self) -> Vec<(Size, Recipe, bool)> {
        let mut attempts: Vec<_> = Recipe::all(self.scale.top())
            .into_iter()
            .flat_map(|recipe| [(recipe, false), (recipe, true)])
            .filter(|&(recipe, gated)| !gated || recipe.can_be_gated())
            .map(|(recipe, gated)| {
                let outline = recipe.outline(self.scale, self.depth);
                (size::size(&outline, gated, self.around), recipe, gated)
            })
            .collect();
        attempts.sort_by_key(|(least, ..)| least.total());
        attempts
    }

    /// Fits again and again, each time aiming at the error reached before, and keeps the best.
    fn attempt(&self, recipe: Recipe, gated: bool) -> Option<Packed> {
        let mut best: Option<Packed> = None;
        let mut aim = DeltaLightness(FIRST_AIM * self.limit.0);
        for _ in 0..AIMS {
            let windows = window::windows(self.scale, self.depth, aim);
            let form = recipe.fit(self.scale, self.depth, &windows, gated)?;
            let Some(packed) = self.judged(form, gated) else {
                break;
            };
            let error = packed.figures.largest_error.0;
            let better = best
                .as_ref()
                .is_none_or(|best| error < best.figures.largest_error.0);
            if better {
                best = Some(packed);
            }
            if !better || error.0 > HOPELESS * self.limit.0 || recipe == Recipe::Plain {
                break;
            }
            aim = error;
        }
        best
    }

    /// The form with its merits. `None`: some level has no value in it, or one above full light.
    fn judged(&self, form: Form, gated: bool) -> Option<Packed> {
        let duties = self
            .scale
            .levels()
            .map(|level| duty(&form, gated, self.depth, level).filter(|&duty| duty <= FULL));
        let duties = duties.collect::<Option<Vec<Duty>>>()?;
        let figures = Figures::of(self.scale, |level| duties[usize::from(level.0)]);
        let all_can_differ = self.finest.distinct == self.scale.count();
        let passes = figures.largest_error.0.0 <= self.limit.0
            && duties[0] == Duty(0)
            && figures.rising
            && (!all_can_differ || figures.distinct == self.scale.count());
        let size = size::size(&form, gated, self.around);
        Some(Packed {
            form,
            gated,
            depth: self.depth,
            size,
            figures,
            passes,
        })
    }
}

fn duty(form: &Form, gated: bool, depth: Depth, level: Level) -> Option<Duty> {
    match level {
        Level(0) if gated => Some(Duty(0)),
        _ => form.raw(level).map(|raw| depth.cut(raw)),
    }
}
