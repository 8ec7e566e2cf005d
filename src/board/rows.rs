//! The board's verdicts, as rows of the budget.

use super::flicker::{Risk, low_risk_limit};
use super::{Board, ChangeReport, PinReport, PumpReport, RegulatorReport, SupplyReport};
use crate::budget::{Judgement, Limit, Quantity, Row, Source};
use crate::design::Design;
use crate::score::ShowKind;
use crate::spec::Flashing;
use crate::units::{Amps, Seconds, Share};

/// WCAG 2, success criterion 2.3.1.
const MOST_FLASHES: Limit = Limit::AtMost(Quantity::Flashes(3));
/// Beyond this share of its rating a regulator gets a word.
const WARM: f64 = 0.8;

/// All rows, what can hurt people first.
pub(super) fn rows(board: &Board, design: &Design) -> Vec<Row> {
    let accepted = design.project.flashing == Flashing::Accepted;
    let in_patterns = flashes(board);
    let mut flashes = vec![if accepted {
        caution_at_most(in_patterns)
    } else {
        in_patterns
    }];
    // A recommended practice, and moments that pass once: beyond these, people decide.
    flashes.extend(
        board
            .changes
            .as_ref()
            .map(|changes| caution_at_most(at_changes(board, changes))),
    );
    let mut rows = vec![caution_at_most(modulation(board, design))];
    rows.extend(flashes);
    rows.extend(board.pins.iter().flat_map(|pins| self::pins(pins, design)));
    rows.extend(board.pump.iter().flat_map(|pump| self::pump(pump, design)));
    rows.extend(board.supply.iter().flat_map(supply));
    rows.extend(battery(board));
    rows.push(clock(board));
    rows
}

fn row(
    (name, what): (&'static str, &'static str),
    figure: Quantity,
    limit: Limit,
    source: Source,
    note: impl Into<String>,
) -> Row {
    Row {
        name,
        what,
        figure,
        limit,
        verdict: limit.judge(figure.value(), 1.0),
        source,
        note: note.into(),
    }
}

/// A caution unless it is worse already.
fn careful_if(careful: bool, row: Row) -> Row {
    let least = if careful {
        Judgement::Caution
    } else {
        Judgement::Fits
    };
    Row {
        verdict: row.verdict.max(least),
        ..row
    }
}

/// Not more than a caution.
fn caution_at_most(row: Row) -> Row {
    Row {
        verdict: row.verdict.min(Judgement::Caution),
        ..row
    }
}

/// The strongest component against its own limit, or all that there is when nothing is modulated.
fn modulation(board: &Board, design: &Design) -> Row {
    let flicker = &board.flicker;
    let of_levels = flicker.worst.map(|worst| {
        let channel = &design.project.channels[worst.channel].name.value;
        let what = format!("`{channel}` at level {}", worst.level.0);
        (worst.component, what)
    });
    let of_ripple = flicker
        .ripple
        .map(|ripple| (ripple, "the pump's ripple, all strings lit".to_string()));
    let worst = of_levels.into_iter().chain(of_ripple).max_by(|a, b| {
        let order = |(component, _): &(super::flicker::Component, String)| {
            (component.risk(), component.strain())
        };
        order(a)
            .partial_cmp(&order(b))
            .expect("modulations are numbers")
    });
    let name = ("modulation", "flicker (IEEE Std 1789-2015)");
    let Some((component, what)) = worst else {
        let none = Quantity::Share(Share(0.0));
        return row(
            name,
            none,
            Limit::None,
            Source::Computed,
            "nothing is modulated",
        );
    };
    let limit = Limit::AtMost(Quantity::Share(low_risk_limit(component.frequency)));
    let remedy = match (flicker.risk, flicker.remedy) {
        (Risk::High, Some(slowest)) => {
            format!("; `pwm: {{slowest: {slowest}}}` brings all levels to low risk")
        }
        (Risk::High, None) => "; a larger reservoir or a faster clock helps".to_string(),
        (Risk::NoEffect | Risk::Low, _) => String::new(),
    };
    let note = format!(
        "{}: {what}, at {} with the clock at its slowest{remedy}",
        flicker.risk.text(),
        component.frequency
    );
    row(
        name,
        Quantity::Share(component.modulation),
        limit,
        Source::Computed,
        note,
    )
}

impl Risk {
    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Self::NoEffect => "no observable effect",
            Self::Low => "low risk",
            Self::High => "beyond the limits",
        }
    }
}

fn flashes(board: &Board) -> Row {
    let worst = board.busiest();
    let flashes = &worst.flashes;
    let mut note = format!("`{}` at {}{}", worst.name, flashes.worst.at, hurried(board));
    if worst.random {
        note += &format!(
            ", in {} of {} minutes played at random (at most {} of all, with 95 % confidence)",
            flashes.failing, flashes.takes, flashes.at_most
        );
    }
    if let Some(remedy) = flashes.remedy {
        note += &format!(
            "; passes {:.2} times as slow, or with {:.1} % of the light",
            (remedy.slower * 100.0).ceil() / 100.0,
            remedy.dimmer * 100.0
        );
    }
    let (figure, source) = (count(flashes.worst.flashes), Source::Computed);
    let name = ("flashes", "flashes in a pattern (WCAG 2)");
    if flashes.worst.flashes == 0 {
        return row(name, figure, MOST_FLASHES, source, "no pattern flashes");
    }
    row(name, figure, MOST_FLASHES, source, note)
}

/// Flashes are counted with the clock at its fastest.
fn hurried(board: &Board) -> &'static str {
    if board.clock.accuracy.0 > 0.0 {
        ", counted with the clock at its fastest"
    } else {
        ""
    }
}

fn at_changes(board: &Board, changes: &ChangeReport) -> Row {
    let remedy = changes.remedy.map_or(String::new(), |fade| {
        format!("; `change_fade: {fade}` keeps them apart")
    });
    let note = format!(
        "from `{}`, left at {}, to `{}`{}; more than 3 in {} of {} changes tried{remedy}",
        changes.from,
        changes.left_at,
        changes.to,
        hurried(board),
        changes.failing,
        changes.tried
    );
    row(
        ("flashes-at-changes", "flashes over a change of pattern"),
        count(changes.worst.flashes),
        MOST_FLASHES,
        Source::Computed,
        note,
    )
}

fn count(flashes: usize) -> Quantity {
    Quantity::Flashes(u32::try_from(flashes).expect("flashes in a second are few"))
}

fn amps(amps: Amps) -> Quantity {
    Quantity::Amps(amps)
}

fn pins(pins: &PinReport, design: &Design) -> Vec<Row> {
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

fn pump(pump: &PumpReport, design: &Design) -> Vec<Row> {
    let limits = &design.plan.chip.electrical;
    let [slow, fast] = pump.over_clock;
    let inexact = !pump.doubts.is_empty();
    let note = format!(
        "with {}; {} open; {slow} to {fast} over the clock's range{}",
        pump.load,
        pump.open,
        if inexact {
            "; outside what the formula is good for"
        } else {
            ""
        }
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
            "{} when a half cycle begins; up to {} while it starts",
            pump.drive.peak, pump.drive.start
        ),
    );
    let strained = pump.drive.peak.0 > limits.pin.0 || pump.drive.mean.0 > limits.pin_tested.0;
    vec![careful_if(inexact, output), careful_if(strained, drive)]
}

fn supply(supply: &SupplyReport) -> Vec<Row> {
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

fn battery(board: &Board) -> Vec<Row> {
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

fn clock(board: &Board) -> Row {
    let clock = &board.clock;
    let [least, most] = clock.minute;
    let accuracy = match clock.accuracy.0 {
        // Of a crystal.
        small if small < 1e-3 => Quantity::Millionths(small * 1e6),
        _ => Quantity::Share(clock.accuracy),
    };
    row(
        ("clock", "error of the clock, either way"),
        accuracy,
        Limit::None,
        Source::Computed,
        format!(
            "datasheet; a minute as written takes {least:.2} s to {most:.2} s, and the PWM runs at {} or more",
            clock.pwm.least
        ),
    )
}
