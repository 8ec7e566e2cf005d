//! The kinds of quantity: their units, and what people write for them by mistake.

use super::Quantity;
use crate::units::{
    AmpHours, Amps, Farads, Hertz, Kelvin, Lux, Nanometres, Ohms, Seconds, Share, Time, Volts,
    Watts,
};

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
    const RANGE: &'static str = "200 ms .. 900 ms";
    const MOST: f64 = 168.0 * 3600e9;
    const MOST_WRITTEN: &'static str = "168 h";

    fn from_base(value: f64) -> Self {
        Self(value.round() as u64)
    }

    /// The period of a frequency.
    fn of_another_kind(number: f64, unit: &str) -> Option<String> {
        let (_, factor) = Hertz::UNITS.iter().find(|(known, _)| *known == unit)?;
        let period = Self::from_base(1e9 / (number * factor));
        (number > 0.0).then(|| format!("the period of that frequency is `{period}`"))
    }

    /// A few are seconds; what has more digits was thought of in milliseconds.
    fn with_unit(number: f64) -> String {
        let unit = if number < 20.0 { "s" } else { "ms" };
        format!("such as `{number} {unit}`")
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

    /// A few are megahertz, as of a clock; other numbers were thought of in hertz.
    fn with_unit(number: f64) -> String {
        match number {
            few if few <= 20.0 => format!("such as `{few} MHz`"),
            hertz => format!("such as `{}`", Self(hertz)),
        }
    }
}

impl Quantity for Share {
    const NAME: &'static str = "a percentage";
    const UNITS: &'static [(&'static str, f64)] = &[("%", 1.0)];
    const MISTAKES: &'static [(&'static str, &'static str)] =
        &[("percent", "%"), ("pct", "%"), ("％", "%")];
    const EXAMPLE: &'static str = "40 %";
    const RANGE: &'static str = "20 % .. 80 %";
    const HAS_OWNERS: bool = true;
    const WORDS: &'static [(&'static str, &'static str)] = &[
        ("on", "100 %"),
        ("full", "100 %"),
        ("true", "100 %"),
        ("off", "0 %"),
        ("dark", "0 %"),
        ("false", "0 %"),
    ];
    const MOST: f64 = 100.0;
    const MOST_WRITTEN: &'static str = "100 %";

    fn from_base(value: f64) -> Self {
        Self(value / 100.0)
    }

    /// A fraction was thought of as a part of one, what is beyond a hundred as a byte.
    fn with_unit(number: f64) -> String {
        let percent = match number {
            part if part < 1.0 => Self(part),
            byte if byte > 100.0 => Self((byte / 255.0).min(1.0)),
            percent => Self(percent / 100.0),
        };
        format!("such as `{percent}`")
    }
}

/// Quantities of the board and of light: their units and base units, and what people write by mistake.
macro_rules! electric {
    ($( $type:ident, $name:literal, $example:literal, most $most:literal = $written:literal:
        { $( $unit:literal = $factor:literal, )* } mistakes { $( $wrong:literal => $right:literal, )* } )*)
    => { $(
        impl Quantity for $type {
            const NAME: &'static str = $name;
            const UNITS: &'static [(&'static str, f64)] = &[$( ($unit, $factor) ),*];
            const MISTAKES: &'static [(&'static str, &'static str)] = &[$( ($wrong, $right) ),*];
            const EXAMPLE: &'static str = $example;
            const MOST: f64 = $most;
            const MOST_WRITTEN: &'static str = $written;

            fn from_base(value: f64) -> Self {
                Self(value)
            }
        }
    )* };
}

electric! {
    Volts, "a voltage", "5 V", most 1e3 = "1000 V":
        { "mV" = 1e-3, "V" = 1.0, }
        mistakes { "volt" => "V", "volts" => "V", }
    Amps, "a current", "10 mA", most 100.0 = "100 A":
        { "uA" = 1e-6, "mA" = 1e-3, "A" = 1.0, }
        mistakes { "µA" => "uA", "μA" => "uA", "amp" => "A", "amps" => "A", }
    Ohms, "a resistance", "25 ohm", most 1e8 = "100000 kohm":
        { "ohm" = 1.0, "kohm" = 1e3, }
        mistakes { "\u{3a9}" => "ohm", "\u{2126}" => "ohm", "R" => "ohm", "ohms" => "ohm", "k" => "kohm", "kΩ" => "kohm", }
    Lux, "an amount of light", "10 lux", most 2e5 = "200 klux":
        { "lux" = 1.0, "klux" = 1e3, }
        mistakes { "lx" => "lux", "Lux" => "lux", "klx" => "klux", }
    Farads, "a capacitance", "1 uF", most 1.0 = "1000000 uF":
        { "pF" = 1e-12, "nF" = 1e-9, "uF" = 1e-6, }
        mistakes { "µF" => "uF", "μF" => "uF", "u" => "uF", "n" => "nF", "p" => "pF", }
    Watts, "a power", "500 mW", most 1e3 = "1000 W":
        { "mW" = 1e-3, "W" = 1.0, }
        mistakes { "watt" => "W", "watts" => "W", }
    Seconds, "a switch's time", "200 ns", most 1e-3 = "1000 us":
        { "ns" = 1e-9, "us" = 1e-6, }
        mistakes { "µs" => "us", "μs" => "us", "nsec" => "ns", "usec" => "us", }
    Kelvin, "a colour temperature", "2700 K", most 1e5 = "100000 K":
        { "K" = 1.0, }
        mistakes { "kelvin" => "K", "\u{212a}" => "K", "°K" => "K", }
    Nanometres, "a wavelength", "590 nm", most 1e5 = "100000 nm":
        { "nm" = 1.0, }
        mistakes { "nanometre" => "nm", "nanometres" => "nm", "nanometers" => "nm", }
    AmpHours, "a battery's capacity", "2000 mAh", most 1e3 = "1000 Ah":
        { "mAh" = 1e-3, "Ah" = 1.0, }
        mistakes { "mA" => "mAh", "A" => "Ah", }
}
