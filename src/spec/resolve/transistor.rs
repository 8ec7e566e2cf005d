//! A transistor as it is written: a name, or figures that suit its switch.

use super::settings::within;
use crate::diagnostic::{Diagnostic, Report, Span, Spanned};
use crate::spec::project::{BipolarFigures, MosfetFigures, Sheet, Switch, Transistor};
use crate::spec::raw;
use crate::units::{Amps, Farads, Seconds, Volts};

/// Datasheets measure storage with the base's current this part of the collector's, if they do not say
/// otherwise.
const FORCED: f64 = 10.0;

pub(super) fn transistor(
    written: &Spanned<raw::Transistor>,
    switch: Spanned<Switch>,
    report: &mut Report,
) -> Option<Spanned<Transistor>> {
    let one = match &written.value {
        raw::Transistor::Named(name) => Transistor::Named(name.clone()),
        raw::Transistor::Sheet(raw) => Transistor::Sheet(sheet(raw, switch, report)?),
    };
    Some(Spanned::new(one, written.span))
}

fn sheet(
    raw: &raw::TransistorSheet,
    switch: Spanned<Switch>,
    report: &mut Report,
) -> Option<Sheet> {
    let bipolar = [
        ("storage", raw.storage.map(|written| written.span)),
        ("at", raw.at.map(|written| written.span)),
        ("base", raw.base.map(|written| written.span)),
        ("hfe", raw.hfe.map(|written| written.span)),
    ];
    let mosfet = [("threshold", raw.threshold.map(|written| written.span))];
    for capacitance in [&raw.input_capacitance, &raw.output_capacitance] {
        within(capacitance, Farads(0.1e-12), Farads(100e-9), report);
    }
    match switch.value {
        Switch::Npn => {
            foreign(&mosfet, "an `npn`", "switch: mosfet", report);
            self::bipolar(raw, report).map(Sheet::Bipolar)
        }
        Switch::Mosfet => {
            foreign(&bipolar, "a `mosfet`", "switch: npn", report);
            let threshold = needed(raw.threshold, "threshold", "2 V", raw.span, report)?;
            within(&threshold, Volts(0.2), Volts(10.0), report);
            Some(Sheet::Mosfet(MosfetFigures {
                threshold: threshold.value,
                input: raw.input_capacitance.value,
                output: raw.output_capacitance.value,
            }))
        }
        Switch::Pin => {
            let fault = Diagnostic::error("E009", raw.span, "a pin switches without a transistor")
                .label("the string is on the pin itself")
                .hint("use `switch: npn` or `switch: mosfet`, or leave `transistor` out");
            report.push(fault);
            None
        }
    }
}

fn bipolar(raw: &raw::TransistorSheet, report: &mut Report) -> Option<BipolarFigures> {
    let storage = needed(raw.storage, "storage", "200 ns", raw.span, report);
    let collector = needed(raw.at, "at", "10 mA", raw.span, report);
    let hfe = needed(raw.hfe, "hfe", "100", raw.span, report);
    let (storage, collector, hfe) = (storage?, collector?, hfe?);
    within(&storage, Seconds(1e-9), Seconds(100e-6), report);
    within(&collector, Amps(1e-4), Amps(10.0), report);
    within(&hfe, 5.0, 10_000.0, report);
    let tenth = Spanned::new(Amps(collector.value.0 / FORCED), collector.span);
    let base = raw.base.unwrap_or(tenth);
    within(&base, Amps(1e-6), Amps(1.0), report);
    // The formula for the storage time has no answer otherwise.
    let edge = Amps(collector.value.0 / hfe.value);
    if base.value.0 <= edge.0 {
        let message = format!("{} into its base do not saturate it", base.value);
        let fault = Diagnostic::error("E030", base.span, message)
            .label(format!("expected more than {edge}, `at` over `hfe`"))
            .hint("`base` is the current into the base with which the storage time was measured");
        report.push(fault);
    }
    Some(BipolarFigures {
        storage: storage.value,
        collector: collector.value,
        base: base.value,
        hfe: hfe.value,
        input: raw.input_capacitance.value,
        output: raw.output_capacitance.value,
    })
}

/// Figures of another kind of transistor.
fn foreign(figures: &[(&str, Option<Span>)], kind: &str, switch: &str, report: &mut Report) {
    for (key, span) in figures {
        let Some(span) = span else { continue };
        let fault = Diagnostic::error("E030", *span, format!("{kind} has no `{key}`"))
            .label("a figure of another kind of transistor")
            .hint(format!("leave it out, or use `{switch}`"));
        report.push(fault);
    }
}

fn needed<T>(
    figure: Option<Spanned<T>>,
    key: &str,
    example: &str,
    owner: Span,
    report: &mut Report,
) -> Option<Spanned<T>> {
    if figure.is_none() {
        let fault = Diagnostic::error("S012", owner, format!("`{key}` is missing"))
            .label(format!("needs `{key}`"))
            .hint(format!("add `{key}: {example}`, as the datasheet has it"));
        report.follow_up(fault);
    }
    figure
}
