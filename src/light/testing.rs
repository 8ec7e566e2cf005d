//! Brightness settings for unit tests.

use crate::diagnostic::{Span, Spanned};
use crate::spec::project::{Brightness, Curve};
use crate::units::{Share, Time};

pub(super) fn brightness(curve: Curve, levels: u16, floor: f64, ceiling: f64) -> Brightness {
    let span = Span::default();
    Brightness {
        curve: Spanned::new(curve, span),
        levels: Spanned::new(levels, span),
        floor: Spanned::new(Share(floor), span),
        ceiling: Spanned::new(Share(ceiling), span),
        error: Spanned::new(0.5, span),
        steps: Spanned::new(8, span),
        repeat: Spanned::new(Time::from_millis(400), span),
    }
}
