//! The brightness levels as a report: what each level puts out, how near that is to what was meant,
//! what other ways of storing it would cost, and what another PWM would do.

mod choices;
mod data;
mod figures;
mod plot;
mod table;

use crate::board::lamps;
use crate::design::Design;

pub use data::{CurveData, data};
pub use figures::{facts, facts_with_light};

/// What of it to show, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Style {
    /// Every so many levels get a row; the first and the last always do. Not 0.
    pub every: usize,
    /// Plain ASCII only.
    pub ascii: bool,
}

/// The whole report.
pub fn report(design: &Design, style: &Style) -> String {
    let lamps = lamps(design);
    [
        figures::figures(design, &lamps),
        plot::plot(design, &lamps, style),
        table::table(design, &lamps, style),
        figures::alternatives(design),
        choices::choices(design, &lamps),
    ]
    .join("\n")
}
