//! Something that is limited, with its figure, its limit and the verdict: what a budget consists of.

use std::fmt;

use serde::ser::SerializeStruct;
use serde::{Serialize, Serializer};

use crate::diagnostic::{Diagnostic, Severity};
use crate::units::{
    Amps, Bytes, Cycles, DeltaLightness, Hertz, Lux, Seconds, Share, Time, Volts, Watts,
};

/// One thing that is limited.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Stable, for scripts: `flash`, `tick-error`.
    pub name: &'static str,
    /// What a person calls it.
    pub what: &'static str,
    pub figure: Quantity,
    pub limit: Limit,
    pub verdict: Judgement,
    pub source: Source,
    pub note: String,
    /// What to object to where it does not fit, with its place in the project.
    #[serde(skip)]
    fault: Option<Box<Diagnostic>>,
}

/// What all rows that do not fit object to: errors for what is over its limit, and cautions.
pub fn objections(rows: &[Row]) -> Vec<Diagnostic> {
    rows.iter().filter_map(Row::objection).collect()
}

impl Row {
    /// Judged by its limit; a caution beyond `careful`, a share of it.
    pub fn judged(
        (name, what): (&'static str, &'static str),
        figure: Quantity,
        limit: Limit,
        careful: f64,
        source: Source,
        note: impl Into<String>,
    ) -> Self {
        Self {
            name,
            what,
            figure,
            limit,
            verdict: limit.judge(figure.value(), careful),
            source,
            note: note.into(),
            fault: None,
        }
    }

    /// Judged otherwise, as the same figure can weigh more or less.
    pub fn with_verdict(self, judge: impl FnOnce(Judgement) -> Judgement) -> Self {
        Self {
            verdict: judge(self.verdict),
            ..self
        }
    }

    /// With what there is to object to, should it not fit.
    pub fn with_fault(self, fault: impl FnOnce(&Self) -> Diagnostic) -> Self {
        let fault = (self.verdict > Judgement::Fits).then(|| Box::new(fault(&self)));
        Self { fault, ..self }
    }

    /// `None`: it fits, or nobody can be asked to change it.
    fn objection(&self) -> Option<Diagnostic> {
        let severity = match self.verdict {
            Judgement::Fits => return None,
            Judgement::Caution => Severity::Caution,
            Judgement::Over => Severity::Error,
        };
        let fault = self.fault.as_deref()?.clone();
        Some(Diagnostic { severity, ..fault })
    }

    /// How the figure stands to its limit, in words: 'more than the 2 KB', 'near the 50 ms'.
    pub fn against(&self) -> String {
        let how = if self.beyond() { "more than" } else { "near" };
        format!("{how} the {}", self.limit.figure())
    }

    /// Whether the figure is beyond its limit, whatever the verdict makes of that.
    pub fn beyond(&self) -> bool {
        self.limit.judge(self.figure.value(), 1.0) == Judgement::Over
    }
}

/// How a figure stands to its limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Judgement {
    Fits,
    /// Near the limit, or worth knowing.
    Caution,
    Over,
}

/// Where a figure comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Source {
    /// Follows from the design, exactly.
    Computed,
    /// From code sizes fitted to compiled projects, on the high side; or a bound.
    Estimated,
    /// On the compiled firmware.
    Measured,
}

/// What a figure is held against.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Limit {
    AtMost(Quantity),
    AtLeast(Quantity),
    /// For information.
    None,
}

/// A figure with its unit. In data: `{"value": 996, "unit": "B"}`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    Bytes(Bytes),
    Cycles(Cycles),
    Hertz(Hertz),
    Share(Share),
    Time(Time),
    /// Parts in a million.
    Millionths(f64),
    /// Of one EEPROM cell.
    Writes(u32),
    Amps(Amps),
    Volts(Volts),
    Watts(Watts),
    Lux(Lux),
    /// A real time that was computed.
    Seconds(Seconds),
    /// Flashes in one second.
    Flashes(u32),
    /// How far apart two lightnesses are.
    Lightness(DeltaLightness),
}

impl Limit {
    /// How much of it a figure uses: 1 is all. `None`: there is no limit.
    pub fn used(self, figure: f64) -> Option<f64> {
        match self {
            Self::AtMost(limit) => Some(figure / limit.value()),
            Self::AtLeast(limit) => Some(limit.value() / figure),
            Self::None => None,
        }
    }

    /// The limit alone, in words; empty: there is none.
    pub fn figure(self) -> String {
        match self {
            Self::AtMost(limit) | Self::AtLeast(limit) => limit.to_string(),
            Self::None => String::new(),
        }
    }

    /// In words; empty: there is none.
    pub fn text(self) -> String {
        match self {
            Self::AtMost(limit) => format!("at most {limit}"),
            Self::AtLeast(limit) => format!("at least {limit}"),
            Self::None => String::new(),
        }
    }

    /// Over beyond the limit; a caution beyond `careful`, a share of it.
    pub fn judge(self, figure: f64, careful: f64) -> Judgement {
        match self.used(figure).unwrap_or(0.0) {
            used if used > 1.0 => Judgement::Over,
            used if used > careful => Judgement::Caution,
            _ => Judgement::Fits,
        }
    }
}

impl Quantity {
    pub fn value(self) -> f64 {
        match self {
            Self::Bytes(bytes) => f64::from(bytes.0),
            Self::Cycles(cycles) => f64::from(cycles.0),
            Self::Hertz(hertz) => hertz.0,
            Self::Share(share) => share.0,
            Self::Time(time) => time.seconds(),
            Self::Millionths(ppm) => ppm,
            Self::Writes(writes) => f64::from(writes),
            Self::Amps(amps) => amps.0,
            Self::Volts(volts) => volts.0,
            Self::Watts(watts) => watts.0,
            Self::Lux(lux) => lux.0,
            Self::Seconds(seconds) => seconds.0,
            Self::Flashes(flashes) => f64::from(flashes),
            Self::Lightness(apart) => apart.0,
        }
    }

    /// The same kind of quantity with another value, in its own unit; a count is rounded.
    pub fn with_value(self, value: f64) -> Self {
        match self {
            Self::Bytes(_) => Self::Bytes(Bytes(value.round() as u32)),
            Self::Cycles(_) => Self::Cycles(Cycles(value.round() as u32)),
            Self::Hertz(_) => Self::Hertz(Hertz(value)),
            Self::Share(_) => Self::Share(Share(value)),
            Self::Time(_) => Self::Time(Time((value * 1e9).round() as u64)),
            Self::Millionths(_) => Self::Millionths(value),
            Self::Writes(_) => Self::Writes(value.round() as u32),
            Self::Amps(_) => Self::Amps(Amps(value)),
            Self::Volts(_) => Self::Volts(Volts(value)),
            Self::Watts(_) => Self::Watts(Watts(value)),
            Self::Lux(_) => Self::Lux(Lux(value)),
            Self::Seconds(_) => Self::Seconds(Seconds(value)),
            Self::Flashes(_) => Self::Flashes(value.round() as u32),
            Self::Lightness(_) => Self::Lightness(DeltaLightness(value)),
        }
    }

    fn unit(self) -> &'static str {
        match self {
            Self::Bytes(_) => "B",
            Self::Cycles(_) => "cycles",
            Self::Hertz(_) => "Hz",
            Self::Share(_) => "1",
            Self::Time(_) => "s",
            Self::Millionths(_) => "ppm",
            Self::Writes(_) => "writes",
            Self::Amps(_) => "A",
            Self::Volts(_) => "V",
            Self::Watts(_) => "W",
            Self::Lux(_) => "lx",
            Self::Seconds(_) => "s",
            Self::Flashes(_) => "1/s",
            Self::Lightness(_) => "L*",
        }
    }
}

impl Serialize for Quantity {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut pair = serializer.serialize_struct("Quantity", 2)?;
        pair.serialize_field("value", &self.value())?;
        pair.serialize_field("unit", self.unit())?;
        pair.end()
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bytes(bytes) => bytes.fmt(f),
            Self::Cycles(cycles) => cycles.fmt(f),
            Self::Hertz(hertz) => hertz.fmt(f),
            Self::Share(share) => Share((share.0 * 1e3).round() / 1e3).fmt(f),
            Self::Time(time) => time.fmt(f),
            Self::Millionths(ppm) => write!(f, "{} ppm", ppm.round()),
            Self::Writes(writes) => write!(f, "{writes} writes"),
            Self::Amps(amps) => amps.fmt(f),
            Self::Volts(volts) => volts.fmt(f),
            Self::Watts(watts) => watts.fmt(f),
            Self::Lux(lux) => lux.fmt(f),
            Self::Seconds(seconds) => seconds.fmt(f),
            Self::Flashes(flashes) => write!(f, "{flashes} a second"),
            Self::Lightness(apart) => apart.fmt(f),
        }
    }
}

impl fmt::Display for Judgement {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Fits => "fits",
            Self::Caution => "caution",
            Self::Over => "over",
        })
    }
}

impl fmt::Display for Source {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::Computed => "computed",
            Self::Estimated => "estimated",
            Self::Measured => "measured",
        })
    }
}
