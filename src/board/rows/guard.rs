//! The guard of the battery: at which supply it acts, and what is drawn once the light is gone.

use super::{blamed, careful_if, row};
use crate::board::Asleep;
use crate::board::asleep::{KEPT, months};
use crate::design::Design;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::Volts;

/// What the guard comes to.
pub(super) fn guard(design: &Design) -> Vec<Row> {
    let (Some(supply), Some(guard), Some(battery)) = (
        design.plan.converter.as_ref().and_then(|one| one.supply),
        &design.project.guard,
        &design.project.electrics.battery,
    ) else {
        return Vec::new();
    };
    let cells = f64::from(battery.cells);
    let off_by = |measured: u8| {
        let [least, is, most] = supply.volts(measured);
        let cell = Volts(is.0 / cells);
        let range = match guard.reference {
            Some(_) => "its reference was measured".to_string(),
            None => format!("{least} to {most} as the references of such chips differ"),
        };
        (least, is, format!("{cell} a cell; {range}"))
    };
    let (_, dims, note) = off_by(supply.limits.dim);
    let dims = row(
        ("guard-dims", "supply at which it dims"),
        Quantity::Volts(dims),
        Limit::None,
        Source::Computed,
        format!("{note}; to {} of its lightness", guard.to),
    );
    let (least, goes, note) = off_by(supply.limits.off);
    let level = design.plan.brown_out.map(|level| level.volts);
    let limit = level.map_or(Limit::None, |level| Limit::AtLeast(Quantity::Volts(level)));
    let goes = row(
        ("guard-off", "supply at which it goes"),
        Quantity::Volts(goes),
        limit,
        Source::Computed,
        note,
    );
    let late = level.is_some_and(|level| least < level);
    let goes = blamed(
        careful_if(late, goes),
        "E032",
        guard.span,
        "measure the reference of this chip and say `reference: 1.08 V`, or set `off` higher",
    );
    [dims, goes].into_iter().chain(gone(design)).collect()
}

/// What is drawn once the light has gone for good.
fn gone(design: &Design) -> Option<Row> {
    let gone = Asleep::for_good(design)?;
    let empty = gone
        .life
        .map_or(String::new(), |life| match life.0 >= KEPT {
            true => "; as much as full cells would give for some ten years".to_string(),
            false => format!(
                "; as much as full cells would give for {} months",
                months(life)
            ),
        });
    Some(row(
        ("guard-gone", "current once it has gone"),
        Quantity::Amps(gone.total()),
        Limit::None,
        Source::Estimated,
        format!("{}{empty}: take spent cells out", gone.shares(design)),
    ))
}
