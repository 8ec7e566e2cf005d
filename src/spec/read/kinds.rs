//! The kinds of quantity: their units, and what people write for them by mistake.

use super::Quantity;
use crate::units::{Hertz, Share, Time};

impl Quantity for Time {
    const NAME: &'static str = "a time";
    const UNITS: &'static [(&'static str, f64)] = &[
        ("us", 1e3),
        ("ms", 1e6),
        ("s", 1e9),
        ("min", 60e9),
        ("h", 3600e9),
    ];
    const MISTAKES: &'static [(&'static str, &'static str)] = &[
        ("µs", "us"),
        ("μs", "us"),
        ("usec", "us"),
        ("msec", "ms"),
        ("millis", "ms"),
        ("milliseconds", "ms"),
        ("sec", "s"),
        ("secs", "s"),
        ("second", "s"),
        ("seconds", "s"),
        ("m", "min"),
        ("mins", "min"),
        ("minute", "min"),
        ("minutes", "min"),
        ("hr", "h"),
        ("hours", "h"),
        ("hour", "h"),
    ];
    const EXAMPLE: &'static str = "250 ms";
    const MOST: f64 = 24.0 * 3600e9;
    const MOST_WRITTEN: &'static str = "24 h";

    fn from_base(value: f64) -> Self {
        Self(value.round() as u64)
    }
}

impl Quantity for Hertz {
    const NAME: &'static str = "a frequency";
    const UNITS: &'static [(&'static str, f64)] = &[("Hz", 1.0), ("kHz", 1e3), ("MHz", 1e6)];
    const MISTAKES: &'static [(&'static str, &'static str)] =
        &[("k", "kHz"), ("M", "MHz"), ("hertz", "Hz")];
    const EXAMPLE: &'static str = "8 MHz";
    const MOST: f64 = 100e6;
    const MOST_WRITTEN: &'static str = "100 MHz";

    fn from_base(value: f64) -> Self {
        Self(value)
    }
}

impl Quantity for Share {
    const NAME: &'static str = "a percentage";
    const UNITS: &'static [(&'static str, f64)] = &[("%", 1.0)];
    const MISTAKES: &'static [(&'static str, &'static str)] =
        &[("percent", "%"), ("pct", "%"), ("％", "%")];
    const EXAMPLE: &'static str = "40 %";
    const MOST: f64 = 100.0;
    const MOST_WRITTEN: &'static str = "100 %";

    fn from_base(value: f64) -> Self {
        Self(value / 100.0)
    }
}
