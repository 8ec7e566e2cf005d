//! Whether the supply stays above the chip's brown-out level.

use super::flow;
use crate::diagnostic::Diagnostic;
use crate::plan::Plan;
use crate::spec::Electrics;
use crate::units::Volts;

/// A caution where the light may go out before the supply is at its end. A supply that is too low
/// for the clock is told elsewhere.
pub(super) fn check(electrics: &Electrics, plan: &Plan) -> Option<Diagnostic> {
    let level = plan.brown_out?;
    let span = flow::lowest_volts_said_at(electrics)?;
    let least = flow::lowest_volts(electrics);
    let [_, most] = level.trips;
    if least >= most || least < plan.clock.least_supply {
        return None;
    }
    let message = format!("the supply goes down to {least}, where the chip may be in reset");
    Some(
        Diagnostic::caution("E017", span, message)
            .label(format!(
                "its brown-out level of {} trips at up to {most}",
                level.volts
            ))
            .hint(remedy(electrics, plan, least, most)),
    )
}

fn remedy(electrics: &Electrics, plan: &Plan, least: Volts, most: Volts) -> String {
    let earlier = match &electrics.battery {
        Some(battery) if battery.start() > most => {
            let a_cell = (most.0 / f64::from(battery.cells) * 100.0).ceil() / 100.0;
            format!("`cut_off: {}` a cell", Volts(a_cell))
        }
        _ => "a supply with a closer tolerance".to_string(),
    };
    let below = plan
        .chip
        .brown_out
        .iter()
        .rev()
        .find(|level| level.trips[1] <= least);
    let instead = match below {
        Some(level) => format!(
            "`brown_out: {}`, if its clock is slow enough for that",
            level.volts
        ),
        None => "`brown_out: off`, which risks what the EEPROM keeps".to_string(),
    };
    format!("{earlier}, or {instead}")
}
