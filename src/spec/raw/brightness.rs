//! Brightness and pulse-width modulation.

use schemars::JsonSchema;

use crate::diagnostic::{Report, Spanned};
use crate::spec::project::{DriveWish, PwmMode};
use crate::spec::read::{Read, record, word, words};
use crate::spec::yaml::{Node, Value};
use crate::units::{Hertz, Share, Time};

record! {
    /// How percentages become light.
    Brightness: "brightness settings such as `{curve: lightness, levels: 64}`" {
        /// The law from percentage to light. Default: lightness.
        curve: Option<Spanned<Curve>>,
        /// Distinct levels from dark to the ceiling, 2 to 256. Default: 256.
        levels: Option<Spanned<u32>>,
        /// The lowest lit level, as a percentage of the curve. Default: the first of equal steps
        /// from dark to the ceiling. With 2 levels only the ceiling is lit.
        floor: Option<Spanned<Share>>,
        /// The percentage of the curve that 100 % in a pattern means. Default: 100 %.
        ceiling: Option<Spanned<Share>>,
        /// How far a level may be from the ideal one, in L*, 0.05 to 10. Default: 0.5.
        error: Option<Spanned<f64>>,
        /// How many steps the buttons go through that are `brighter` and `darker`, 3 to 32; equal ones,
        /// of which the last one is full and the first one still lights. Default: 8.
        steps: Option<Spanned<u32>>,
        /// From one step to the next while such a button is held. Default: 400 ms.
        repeat: Option<Spanned<Time>>,
    }
}

/// The law from percentage to light.
#[derive(Debug, Clone, JsonSchema)]
#[schemars(untagged)]
pub(in crate::spec) enum Curve {
    /// One that has a name.
    Named(NamedCurve),
    /// A power law.
    Power(PowerCurve),
    /// Points measured by yourself.
    Points(PointCurve),
}

#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum NamedCurve {
    Lightness,
    Logarithmic,
    Square,
    Linear,
}

words! {
    NamedCurve, "a curve": {
        "lightness" => Lightness: "CIE 1976 lightness: equal steps look equal",
        "logarithmic" => Logarithmic: "the dimming curve of IEC 62386-102, from 0.1 % to 100 %",
        "square" => Square: "light is the square of the percentage",
        "linear" => Linear: "light is the percentage",
    }
}

record! {
    /// Light is the percentage to a power.
    PowerCurve: "a power law such as `{power: 2.2}`" {
        /// The exponent, 0.2 to 5.
        power: Spanned<f64>,
    }
}

record! {
    /// A curve through points of your own, straight between them.
    PointCurve: "a curve such as `{points: [[0 %, 0 %], [50 %, 18 %], [100 %, 100 %]]}`" {
        /// Pairs of percentage and light, both rising, from `[0 %, 0 %]` to `[100 %, 100 %]`.
        points: Vec<Spanned<[Share; 2]>>,
    }
}

impl Read for Curve {
    fn expected() -> String {
        format!(
            "{}, `{{power: 2.2}}` or `{{points: [[0 %, 0 %], …, [100 %, 100 %]]}}`",
            NamedCurve::expected().replace(" or ", ", ")
        )
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        match &node.value {
            Value::Map(_) if node.get("points").is_some() => {
                Read::read(node, report).map(Self::Points)
            }
            Value::Map(_) => Read::read(node, report).map(Self::Power),
            Value::Scalar(_) | Value::List(_) => word::<_, Self>(node, report).map(Self::Named),
        }
    }
}

record! {
    /// What you want of the pulse-width modulation.
    Pwm: "PWM settings such as `{frequency: 31 kHz}`" {
        /// The frequency of the pulses. Default: the highest that the plan allows.
        frequency: Option<Spanned<Hertz>>,
        /// No component of the light may be slower than this. Default: 1250 Hz.
        slowest: Option<Spanned<Hertz>>,
        /// The timer's mode. Default: auto.
        mode: Option<Spanned<PwmMode>>,
        /// What makes the pulses. Default: auto.
        drive: Option<Spanned<DriveWish>>,
    }
}

words! {
    DriveWish, "a drive": {
        "auto" => Auto: "timers where every channel is on a PWM pin, and else the port, or both",
        "timer" => Timer: "the timers' own PWM: only PWM pins",
        "port" => Port: "an interrupt that writes a port, or two: any pins",
        "mixed" => Mixed: "PWM pins by their timers, and from the same interrupt others on one port",
    }
    PwmMode, "a timer mode": {
        "auto" => Auto: "whichever mode suits, with off exactly dark",
        "fast" => Fast: "single slope: twice the frequency",
        "phase-correct" => PhaseCorrect: "dual slope: pulses keep their centre",
    }
}
