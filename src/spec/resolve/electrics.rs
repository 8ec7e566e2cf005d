//! The electric part: defaults filled in, ranges checked. What the numbers come to is `board`'s.

use super::scope::Scope;
use super::settings::{ranged, within};
use super::strings::strings;
use crate::diagnostic::{Diagnostic, Report, Span, Spanned};
use crate::spec::project::{
    Battery, Diode, Drawn, Electrics, PumpCircuit, Rail, Regulator, Supply,
};
use crate::spec::raw;
use crate::units::{AmpHours, Amps, Farads, Ohms, Share, Volts, Watts};

/// No more than this is low voltage: 60 V of direct current, IEC 61140 (from memory).
const MOST_VOLTS: Volts = Volts(60.0);

pub(super) fn electrics(raw: &raw::Project, scope: &Scope, report: &mut Report) -> Electrics {
    let pump = raw
        .charge_pump
        .as_ref()
        .and_then(|pump| pump_circuit(pump, report));
    let battery = raw
        .battery
        .as_ref()
        .and_then(|battery| battery.0.as_ref())
        .map(|battery| self::battery(battery, report));
    let strings = strings(raw, scope, pump.is_some(), report);
    let supply = match &raw.supply {
        Some(supply) => Some(self::supply(supply, battery.as_ref(), report)),
        None if strings.is_empty() && battery.is_none() => None,
        None => Some(plain_supply(raw.span, battery.as_ref())),
    };
    let electrics = Electrics {
        strings,
        supply,
        battery,
        pump,
    };
    rails_exist(&electrics, report);
    electrics
}

fn plain_supply(span: Span, battery: Option<&Battery>) -> Supply {
    Supply {
        span,
        volts: Spanned::new(
            unregulated(battery),
            battery.map_or(span, |battery| battery.span),
        ),
        tolerance: Share(0.05),
        limit: None,
        other: Amps(0.0),
        regulator: None,
    }
}

/// What there is without a regulator.
fn unregulated(battery: Option<&Battery>) -> Volts {
    battery.map_or(Volts(5.0), Battery::start)
}

/// A nearest value that would be accepted is no advice here.
fn dangerous(volts: Spanned<Volts>) -> Diagnostic {
    let message = format!("`{}` is dangerous to touch", volts.value);
    Diagnostic::error("S016", volts.span, message)
        .label(format!("expected at most {MOST_VOLTS}"))
        .hint(
            "use a certified adapter of the voltage that the lights need; what is wired to the \
             mains is work for an electrician",
        )
}

fn supply(raw: &raw::Supply, battery: Option<&Battery>, report: &mut Report) -> Supply {
    let plain = plain_supply(raw.span, battery);
    let regulated = raw.regulator.is_some();
    let default = if regulated {
        Volts(5.0)
    } else {
        plain.volts.value
    };
    let volts = match raw.volts {
        Some(volts) if volts.value > MOST_VOLTS => {
            report.push(dangerous(volts));
            volts
        }
        volts => ranged(volts, (Volts(1.0), MOST_VOLTS), default, raw.span, report),
    };
    if let Some(limit) = &raw.limit {
        within(limit, Amps(1e-3), Amps(50.0), report);
    }
    if let Some(written) = raw.volts
        && !regulated
        && let Some(battery) = battery
        && (written.value.0 / unregulated(Some(battery)).0 - 1.0).abs() > 0.01
    {
        let message = format!("the battery gives {}", unregulated(Some(battery)));
        report.push(
            Diagnostic::error("E030", written.span, message)
                .label("without a regulator the supply is what the battery gives")
                .hint("leave `volts` out, or add `regulator`"),
        );
    }
    Supply {
        volts,
        tolerance: ranged(
            raw.tolerance,
            (Share(0.0), Share(0.5)),
            plain.tolerance,
            raw.span,
            report,
        )
        .value,
        limit: raw.limit,
        other: raw.other.map_or(Amps(0.0), |other| other.value),
        regulator: raw
            .regulator
            .as_ref()
            .and_then(|regulator| self::regulator(regulator, battery, report)),
        ..plain
    }
}

fn regulator(
    raw: &raw::Regulator,
    battery: Option<&Battery>,
    report: &mut Report,
) -> Option<Regulator> {
    if let Some(input) = raw.input {
        let (Drawn::Fixed(most) | Drawn::Between(_, most)) = input.value;
        if most > MOST_VOLTS {
            report.push(dangerous(Spanned::new(most, input.span)));
        }
    }
    let input = match (raw.input.map(|input| input.value), battery) {
        (Some(Drawn::Fixed(volts)), _) => (volts, volts),
        (Some(Drawn::Between(low, high)), _) => (low, high),
        (None, Some(battery)) => {
            let all = |cell: Volts| Volts(cell.0 * f64::from(battery.cells));
            (all(battery.cut_off), all(battery.full))
        }
        (None, None) => {
            report.push(
                Diagnostic::error("S012", raw.span, "`input` is missing")
                    .label("needs `input`")
                    .hint("add `input: 9 V`, or a range, or a `battery` to the project"),
            );
            return None;
        }
    };
    Some(Regulator {
        span: raw.span,
        input,
        dropout: raw.dropout.map_or(Volts(2.0), |dropout| dropout.value),
        quiescent: raw
            .quiescent
            .map_or(Amps(0.005), |quiescent| quiescent.value),
        rating: raw.rating.map_or(Watts(0.5), |rating| rating.value),
    })
}

fn battery(raw: &raw::Battery, report: &mut Report) -> Battery {
    within(&raw.capacity, AmpHours(1e-3), AmpHours(1000.0), report);
    within(&raw.full, Volts(0.5), Volts(60.0), report);
    let cut_off = raw.cut_off.unwrap_or(raw.empty);
    if !(raw.empty.value <= cut_off.value && cut_off.value < raw.full.value) {
        let message = format!(
            "a cell from {} to {} cannot be cut off at {}",
            raw.full.value, raw.empty.value, cut_off.value
        );
        report.push(
            Diagnostic::error("E030", cut_off.span, message)
                .label("expected empty ≤ cut-off < full")
                .hint("all three are voltages of one cell"),
        );
    }
    Battery {
        span: raw.span,
        cells: ranged(raw.cells, (1, 40), 1, raw.span, report).value,
        kind: raw.kind.map(|kind| kind.value),
        full: raw.full.value,
        empty: raw.empty.value,
        capacity: raw.capacity.value,
        cut_off: cut_off.value,
        self_discharge: ranged(
            raw.self_discharge,
            (Share(0.0), Share(0.99)),
            Share(0.03),
            raw.span,
            report,
        )
        .value,
    }
}

fn pump_circuit(raw: &raw::ChargePump, report: &mut Report) -> Option<PumpCircuit> {
    let extra = [
        raw.reservoir.map(|written| written.span),
        raw.diode.map(|written| written.span),
        raw.resistor.map(|written| written.span),
    ];
    let (stages, capacitor) = match (raw.stages, raw.capacitor) {
        (Some(stages), Some(capacitor)) => (stages, capacitor),
        (None, None) if extra.iter().all(Option::is_none) => return None,
        (stages, _) => {
            let key = if stages.is_none() {
                "stages"
            } else {
                "capacitor"
            };
            report.follow_up(
                Diagnostic::error("S012", raw.span, format!("`{key}` is missing"))
                    .label("needs both `stages` and `capacitor`")
                    .hint("such as `stages: 3, capacitor: 1 uF`"),
            );
            return None;
        }
    };
    within(&stages, 1, 12, report);
    let capacitors = (Farads(100e-12), Farads(1e-3));
    within(&capacitor, capacitors.0, capacitors.1, report);
    let default = Farads(capacitor.value.0 * 10.0);
    let reservoir = raw.reservoir.map_or(default, |reservoir| {
        within(&reservoir, Farads(100e-12), Farads(10e-3), report);
        reservoir.value
    });
    Some(PumpCircuit {
        span: raw.span,
        stages: stages.value,
        capacitor: capacitor.value,
        reservoir,
        resistor: raw.resistor.map_or(Ohms(0.0), |resistor| {
            within(&resistor, Ohms(1.0), Ohms(10e3), report);
            resistor.value
        }),
        diode: raw
            .diode
            .map_or(Diode::Drop(Volts(0.38)), |diode| self::diode(diode, report)),
    })
}

fn diode(raw: Spanned<raw::Diode>, report: &mut Report) -> Diode {
    match raw.value {
        raw::Diode::Drop(drop) => {
            within(
                &Spanned::new(drop, raw.span),
                Volts(0.0),
                Volts(2.0),
                report,
            );
            Diode::Drop(drop)
        }
        raw::Diode::Points(mut points) => {
            points.sort_by(|a, b| a.0.0.total_cmp(&b.0.0));
            let [low, high] = points;
            if low.0 >= high.0 || low.1 >= high.1 || low.0.0 <= 0.0 {
                report.push(
                    Diagnostic::error("E030", raw.span, "the diode's points do not rise")
                        .label("expected more current and a larger drop at one of them")
                        .hint("two points a decade apart, around the pump's current"),
                );
                return Diode::Drop(low.1);
            }
            Diode::Points(points)
        }
    }
}

/// Complains of strings that hang on a rail that the project does not have.
fn rails_exist(electrics: &Electrics, report: &mut Report) {
    let regulated = electrics
        .supply
        .as_ref()
        .is_some_and(|supply| supply.regulator.is_some());
    for string in electrics.strings.iter().flatten() {
        let (rail, needs) = match string.from.value {
            Rail::Pump if electrics.pump.is_none() => {
                ("pump", "a `charge_pump` with `stages` and `capacitor`")
            }
            Rail::Input if !regulated => ("input", "a `supply` with a `regulator`"),
            Rail::Supply | Rail::Input | Rail::Pump => continue,
        };
        report.push(
            Diagnostic::error(
                "E031",
                string.from.span,
                format!("the rail `{rail}` is not there"),
            )
            .label(format!("needs {needs}"))
            .hint("or take the string's current `from: supply`"),
        );
    }
}
