//! The guard of the battery: ranges checked, defaults filled in.

use super::settings::ranged;
use crate::diagnostic::{Diagnostic, Report, Spanned};
use crate::spec::project::{Electrics, Guard};
use crate::spec::raw;
use crate::spec::read::MaybeEmpty;
use crate::units::{Share, Volts};

/// How much of what is between spent and full is left when the light dims, unless told.
const LEFT: f64 = 0.25;

/// To which lightness it dims, unless told: about a fifth of the light, and of the current.
const TO: Share = Share(0.5);

/// No chip's reference is beyond these.
const REFERENCES: (Volts, Volts) = (Volts(1.0), Volts(1.4));

/// Wants cells whose voltage the chip sees. Where it says at which one the light goes, that is the battery's cut-off.
pub(super) fn guard(
    raw: &raw::Project,
    electrics: &mut Electrics,
    report: &mut Report,
) -> Option<Guard> {
    let MaybeEmpty(guard) = raw.guard.as_ref()?;
    let Some(battery) = &raw.battery else {
        report.push(
            Diagnostic::error("S055", guard.span, "a guard without a battery")
                .label("expected `battery` beside it")
                .hint(
                    "such as `battery: {cells: 3, full: 1.5 V, empty: 0.9 V, capacity: 2000 mAh}`",
                ),
        );
        return None;
    };
    // One that cannot be read is there: that is said already.
    let (Some(battery), Some(cells)) = (&battery.0, &mut electrics.battery) else {
        return None;
    };
    let regulator = raw
        .supply
        .as_ref()
        .and_then(|supply| supply.regulator.as_ref());
    if let Some(regulator) = regulator {
        report.push(
            Diagnostic::error("S055", regulator.span, "a guard behind a regulator")
                .label("the chip sees its own supply, which this keeps where it is")
                .hint("feed the chip from the cells, or leave `guard` out"),
        );
    }
    let (empty, full) = (cells.empty, cells.full);
    if let Some(off) = guard.off {
        match battery.cut_off {
            Some(cut_off) if cut_off.value != off.value => report.push(
                Diagnostic::error("S055", off.span, "the light goes at two voltages")
                    .label(format!("`cut_off` of the battery says {}", cut_off.value))
                    .hint("leave one of them out"),
            ),
            _ if (empty..full).contains(&off.value) => cells.cut_off = off.value,
            _ => report.push(out_of(off, empty, full, cells.cells)),
        }
    }
    let off = cells.cut_off;
    if let Some(dim) = guard
        .dim
        .filter(|dim| dim.value <= off || dim.value >= full)
    {
        report.push(out_of(dim, off, full, cells.cells));
    }
    let usual = off.0 + (full.0 - off.0) * LEFT;
    let usual = Volts((usual * 100.0).round() / 100.0);
    let reference = guard.reference.map(|reference| {
        let (least, most) = REFERENCES;
        ranged(Some(reference), (least, most), least, guard.span, report).value
    });
    Some(Guard {
        span: guard.span,
        dim: guard.dim.map_or(usual, |dim| dim.value),
        to: ranged(guard.to, (Share(0.05), Share(0.95)), TO, guard.span, report).value,
        reference,
    })
}

fn out_of(value: Spanned<Volts>, low: Volts, full: Volts, cells: u32) -> Diagnostic {
    let each = Volts((value.value.0 / f64::from(cells) * 100.0).round() / 100.0);
    let hint = match low < each && each < full && cells > 1 {
        true => format!(
            "it is the voltage of one cell: {each} for {cells} that have {} together",
            value.value
        ),
        false => "it is the voltage of one cell".to_string(),
    };
    Diagnostic::error(
        "S055",
        value.span,
        format!("`{}` is no voltage to act at", value.value),
    )
    .label(format!(
        "expected more than {low} and less than the {full} of a full cell"
    ))
    .hint(hint)
}
