//! What pins, pump, supply, regulator and battery carry.

use super::{careful_if, row};
use crate::board::{Board, PinReport, PumpReport, RegulatorReport, SupplyReport};
use crate::circuit::pump::Gentle;
use crate::design::Design;
use crate::row::{Limit, Quantity, Row, Source};
use crate::score::ShowKind;
use crate::units::{Amps, Seconds};

/// Beyond this share of its rating a regulator gets a word.
const WARM: f64 = 0.8;

fn amps(amps: Amps) -> Quantity {
    Quantity::Amps(amps)
}

pub(super) fn pins(pins: &PinReport, design: &Design) -> Vec<Row> {
    let limits = &design.plan.chip.electrical;
    let all = Amps(pins.together.0 + pins.chip.0);
    let package = row(
        ("package", "current in the chip's supply legs"),
        amps(all),
        Limit::AtMost(amps(limits.package)),
        Source::Estimated,
        format!(
            "all pins at one instant; output levels hold up to {}",
            limits.total_tested
        ),
    );
    let busiest = pins
        .channels
        .iter()
        .zip(&design.project.channels)
        .max_by(|a, b| a.0.0.total_cmp(&b.0.0));
    let busiest = busiest.map(|(&current, channel)| {
        let pin = row(
            ("pin", "current in the busiest pin"),
            amps(current),
            Limit::AtMost(amps(limits.pin)),
            Source::Computed,
            format!("`{}`, while lit", channel.name.value),
        );
        careful_if(current.0 > limits.pin_tested.0, pin)
    });
    let package = careful_if(pins.together.0 > limits.total_tested.0, package);
    busiest.into_iter().chain([package]).collect()
}

pub(super) fn pump(pump: &PumpReport, design: &Design) -> Vec<Row> {
    let limits = &design.plan.chip.electrical;
    let [slow, fast] = pump.over_clock;
    let inexact = !pump.doubts.is_empty();
    let doubts: String = pump
        .doubts
        .iter()
        .map(|doubt| format!("; {}", doubt.text()))
        .collect();
    let note = format!(
        "with {}; {} open; {slow} to {fast} over the clock's range{doubts}",
        pump.load, pump.open
    );
    let output = row(
        ("pump", "charge pump, all strings lit"),
        Quantity::Volts(pump.loaded),
        Limit::None,
        Source::Computed,
        note,
    );
    let drive = row(
        ("pump-pin", "current in the pump's busier pin"),
        amps(pump.drive.mean),
        Limit::AtMost(amps(limits.pin)),
        Source::Computed,
        format!(
            "{} when a half cycle begins; up to {} while it starts; the datasheet vouches for {}{}",
            pump.drive.peak,
            pump.drive.start,
            limits.pin_tested,
            gentler(pump)
        ),
    );
    let strained = pump.gentle.is_some()
        || pump.drive.peak.0 > limits.pin.0
        || pump.drive.mean.0 > limits.pin_tested.0;
    vec![careful_if(inexact, output), careful_if(strained, drive)]
}

/// What would start it gently, and what that costs.
fn gentler(pump: &PumpReport) -> String {
    let Some(gentle) = pump.gentle else {
        return String::new();
    };
    let Gentle {
        resistor, output, ..
    } = gentle;
    let smaller = pump
        .window
        .smallest
        .filter(|smallest| smallest.0 < pump.pump.capacitor.0)
        .map(|smallest| {
            format!("`capacitor: {smallest}`, which is enough, makes the start shorter")
        });
    if gentle.useful {
        let smaller = smaller.map_or(String::new(), |smaller| format!(", and {smaller}"));
        return format!(
            "; `resistor: {resistor}` at each of its pins keeps the start within what they stand and \
             leaves {output} of {}{smaller}",
            pump.loaded
        );
    }
    let smaller = smaller.map_or(String::new(), |smaller| format!("; {smaller}"));
    format!(
        "; no resistor at its pins helps: {resistor} would leave {output} of {}; with less current on \
         it, or fewer stages, one may{smaller}",
        pump.loaded
    )
}

pub(super) fn supply(supply: &SupplyReport) -> Vec<Row> {
    let limit = supply
        .limit
        .map_or(Limit::None, |limit| Limit::AtMost(amps(limit)));
    let mut rows = vec![
        row(
            ("supply-mean", "supply, on average"),
            amps(supply.mean),
            Limit::None,
            Source::Estimated,
            "of the pattern that draws the most; the chip's own current is estimated",
        ),
        row(
            ("supply-peak", "supply, at the most"),
            amps(supply.peak),
            limit,
            Source::Estimated,
            "averaged over a period of the PWM, which the capacitors even out",
        ),
    ];
    rows.extend(supply.regulator.map(heat));
    rows
}

fn heat(regulator: RegulatorReport) -> Row {
    let heat = row(
        ("regulator", "heat in the regulator"),
        Quantity::Watts(regulator.heat),
        Limit::AtMost(Quantity::Watts(regulator.rating)),
        Source::Estimated,
        "at the highest input, in the pattern that draws the most",
    );
    careful_if(regulator.heat.0 > WARM * regulator.rating.0, heat)
}

pub(super) fn battery(board: &Board) -> Vec<Row> {
    let lasts = |name, life: Seconds, note| {
        row(
            name,
            Quantity::Seconds(life),
            Limit::None,
            Source::Estimated,
            note,
        )
    };
    let shows = board.shows.iter().filter_map(|show| {
        let [short, long] = show.life?;
        let name = match show.kind {
            ShowKind::Roam => ("battery-roam", "battery, roaming"),
            ShowKind::Steady => ("battery-steady", "battery, at the hungriest level"),
            ShowKind::Solo => ("battery-solo", "battery, on the hungriest pattern"),
        };
        let note = match show.kind {
            ShowKind::Roam => format!("{} to {}, by pattern", show.least, show.most),
            ShowKind::Steady | ShowKind::Solo => {
                format!("`{}`; {long} on the most frugal", show.hungriest)
            }
        };
        Some(lasts(name, short, note))
    });
    let mut rows: Vec<Row> = shows.collect();
    if let Some(supply) = &board.supply
        && let Some(life) = supply.standby_life
    {
        let note = format!("{} with no string lit", supply.standby);
        rows.push(lasts(("battery-dark", "battery, all dark"), life, note));
    }
    rows
}
