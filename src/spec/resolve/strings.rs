//! What hangs on each channel: defaults filled in, ranges checked.

use super::scope::Scope;
use super::settings::{ranged, within};
use super::transistor::transistor;
use crate::diagnostic::{Diagnostic, Report, Span, Spanned};
use crate::spec::project::{Drawn, LedString, Rail, Series, Switch, SwitchDrive};
use crate::spec::raw;
use crate::units::{Amps, Farads, Ohms, Volts};

/// By channel; empty when the project says nothing of its strings.
pub(super) fn strings(
    raw: &raw::Project,
    scope: &Scope,
    pumped: bool,
    report: &mut Report,
) -> Vec<Option<LedString>> {
    let Some(named) = &raw.strings else {
        return Vec::new();
    };
    let mut strings: Vec<Option<LedString>> = vec![None; scope.all().len()];
    for (name, written) in &named.entries {
        let channels = scope.find(name, report).unwrap_or_default();
        let Some(written) = written else { continue };
        let string = string(written, name.span, pumped, report);
        for channel in channels {
            let place = &mut strings[usize::from(channel.0)];
            if place.is_some() {
                let message = format!("`{}` has its string already", scope.name(channel));
                report.push(
                    Diagnostic::error("S034", name.span, message)
                        .label("a channel has one kind of string")
                        .hint("name each channel once, by itself, by a group or by `all`"),
                );
            }
            *place = Some(string.clone());
        }
    }
    strings
}

fn string(raw: &raw::LedString, span: Span, pumped: bool, report: &mut Report) -> LedString {
    let forward = raw.forward;
    within(&forward, Volts(0.5), Volts(60.0), report);
    within(&raw.current, Amps(1e-5), Amps(5.0), report);
    let spread = match raw.spread.map(|spread| spread.value) {
        Some(Drawn::Fixed(volts)) => (volts, volts),
        Some(Drawn::Between(low, high)) => (low, high),
        None => (Volts(forward.value.0 * 0.9), Volts(forward.value.0 * 1.1)),
    };
    if let Some(written) = raw.spread
        && !(spread.0 <= forward.value && forward.value <= spread.1)
    {
        report.push(
            Diagnostic::error(
                "E030",
                written.span,
                "the spread leaves the typical drop out",
            )
            .label(format!("expected a range around {}", forward.value))
            .hint("the least and the most that the datasheet gives for the wanted current"),
        );
    }
    let rail = if pumped { Rail::Pump } else { Rail::Supply };
    let switch = raw.switch.unwrap_or(Spanned::new(Switch::Npn, raw.span));
    let rail = if switch.value == Switch::Pin {
        Rail::Supply
    } else {
        rail
    };
    LedString {
        span,
        leds: ranged(raw.leds, (1, 100), 1, raw.span, report),
        parallel: ranged(raw.parallel, (1, 100), 1, raw.span, report),
        forward,
        spread,
        current: raw.current,
        switch,
        saturation: optional(raw.saturation, (Volts(0.01), Volts(2.0)), report),
        gain: ranged(raw.gain, (5.0, 1000.0), 20.0, raw.span, report).value,
        on_resistance: optional(raw.on_resistance, (Ohms(0.001), Ohms(100.0)), report),
        pin_resistance: optional(raw.pin_resistance, (Ohms(1.0), Ohms(1e3)), report),
        transistor: raw
            .transistor
            .as_ref()
            .and_then(|written| transistor(written, switch, report)),
        drive: raw
            .drive
            .unwrap_or(Spanned::new(SwitchDrive::Plain, raw.span)),
        capacitance: optional(raw.capacitance, (Farads(1e-12), Farads(10e-9)), report),
        colour: raw.colour.map(|colour| colour.value),
        from: raw.from.unwrap_or(Spanned::new(rail, raw.span)),
        series: raw.series.map_or(Series::E12, |series| series.value),
    }
}

/// A value that need not be there, but if it is, lies between these.
fn optional<T: Copy + PartialOrd + std::fmt::Display>(
    written: Option<Spanned<T>>,
    (least, most): (T, T),
    report: &mut Report,
) -> Option<T> {
    let written = written?;
    within(&written, least, most, report);
    Some(written.value)
}
