//! What pins, pump, supply, regulator and battery carry.

use super::{blamed, careful_if, row};
use crate::board::{Board, PinReport, PumpReport, RegulatorReport, SpentReport, SupplyReport};
use crate::circuit::pump::Gentle;
use crate::design::Design;
use crate::row::{Limit, Quantity, Row, Source};
use crate::score::ShowKind;
use crate::units::{Amps, DeltaLightness, Seconds};

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
    let package = blamed(
        package,
        "E008",
        design.project.chip.span,
        "switch strings with transistors, or light fewer at once",
    );
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
    let pump_of_project = design.project.electrics.pump.as_ref();
    let span = pump_of_project.map_or(design.project.chip.span, |pump| pump.span);
    vec![
        blamed(
            careful_if(inexact, output),
            "E021",
            span,
            "measure the voltage on the bench before you trust it",
        ),
        blamed(
            careful_if(strained, drive),
            "E022",
            span,
            match pump.gentle {
                Some(gentle) if gentle.useful => {
                    "a `resistor` at the pump's pins, less current on it, or fewer stages"
                }
                _ => {
                    "less current on the pump, or fewer stages; smaller capacitors strain its pins \
                     for a shorter time when it starts"
                }
            },
        ),
    ]
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

pub(super) fn supply(supply: &SupplyReport, design: &Design) -> Vec<Row> {
    let given = design.project.electrics.supply.as_ref();
    let span = given.map_or(design.project.chip.span, |given| given.span);
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
        blamed(
            row(
                ("supply-peak", "supply, at the most"),
                amps(supply.peak),
                limit,
                Source::Estimated,
                "averaged over a period of the PWM, which the capacitors even out",
            ),
            "E015",
            span,
            "less current a string, a lower `ceiling`, or a stronger supply",
        ),
    ];
    rows.extend(supply.regulator.map(|regulator| {
        blamed(
            heat(regulator),
            "E016",
            span,
            "a lower input, strings `from: input`, a heat sink, or a switching regulator",
        )
    }));
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
        && let Some(life) = supply.dark_life
    {
        let note = format!("{} with no string lit", supply.dark);
        rows.push(lasts(("battery-dark", "battery, all dark"), life, note));
    }
    let spent = board.supply.as_ref().and_then(|supply| supply.spent);
    rows.extend(spent.iter().flat_map(|spent| self::spent(spent, board)));
    rows
}

/// What becomes of the light while cells come down to their cut-off.
fn spent(spent: &SpentReport, board: &Board) -> Vec<Row> {
    let sag = (spent.sag.0 > 0.0).then(|| {
        row(
            ("battery-sag", "voltage lost within spent cells"),
            Quantity::Volts(spent.sag),
            Limit::None,
            Source::Estimated,
            format!("all strings lit; they still give {}", spent.volts),
        )
    });
    let light = spent.dimmest.map(|(channel, left)| {
        row(
            ("battery-light", "light lost as cells run down"),
            Quantity::Lightness(DeltaLightness(100.0 - left.0)),
            Limit::None,
            Source::Computed,
            format!(
                "`{}` at full light, from full cells to the cut-off: L* 100 to L* {:.0}",
                board.channels[channel], left.0
            ),
        )
    });
    let sagging = spent.sagging.map(|(channel, [full, spent])| {
        row(
            ("battery-sag-light", "light lost to the cells' resistance"),
            Quantity::Lightness(DeltaLightness(full.0.max(spent.0))),
            Limit::None,
            Source::Estimated,
            format!(
                "`{}` at full light with all else: {full} with full cells, {spent} with spent ones",
                board.channels[channel]
            ),
        )
    });
    sag.into_iter().chain(sagging).chain(light).collect()
}
