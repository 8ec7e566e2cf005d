//! Quantities with their units, and the one place where each is written out.
//!
//! No bare number that means a quantity crosses a module: it travels in one of these.

use std::fmt;

use serde::{Deserialize, Serialize};

/// A frequency, in hertz.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Hertz(pub f64);

/// A voltage, in volts.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Volts(pub f64);

/// A current, in amperes.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Amps(pub f64);

/// A resistance, in ohms.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Ohms(pub f64);

/// How much light falls on something, in lux.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Lux(pub f64);

/// A capacitance, in farads.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Farads(pub f64);

/// A charge, in coulombs.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Coulombs(pub f64);

/// A power, in watts.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct Watts(pub f64);

/// What a battery holds, in ampere-hours.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
pub struct AmpHours(pub f64);

/// The temperature of a black body, in kelvin.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
pub struct Kelvin(pub f64);

/// A wavelength of light, in nanometres.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
pub struct Nanometres(pub f64);

/// A span of real time that was computed or measured, in seconds.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
pub struct Seconds(pub f64);

/// A number without the noise of binary fractions, as data tell it: of so many `steps` to one.
#[cfg(feature = "cli")]
pub(crate) fn rounded(number: f64, steps: f64) -> f64 {
    (number * steps).round() / steps
}

/// A span of time the person wrote, in whole nanoseconds, so that sums and common divisors are exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct Time(pub u64);

impl Time {
    /// `ms` whole milliseconds.
    pub const fn from_millis(ms: u64) -> Self {
        Self(ms * 1_000_000)
    }

    /// The span in seconds.
    pub fn seconds(self) -> f64 {
        self.0 as f64 / 1e9
    }
}

/// A count of ticks: the firmware's unit of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct Ticks(pub u32);

/// From one count of ticks to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct TickShift(pub i32);

/// A share of a whole, 0 to 1: what the person writes as a percentage.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
pub struct Share(pub f64);

/// Perceived lightness as CIE L*, 0 (dark) to 100 (the string at its full light).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
pub struct Lightness(pub f64);

/// How far apart two lightnesses are, in L*: an error or a step. About 1 is just noticeable side by
/// side.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
pub struct DeltaLightness(pub f64);

/// Relative luminance Y, 0 (dark) to 1 (the string at its full light).
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default, Serialize)]
pub struct Luminance(pub f64);

/// An index into the project's brightness levels: 0 is dark, the last one is the ceiling.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct Level(pub u8);

/// On-time as the chip computes it: whole timer counts in the high byte, the fraction that is
/// spread over time in the low byte. 0 is dark; `0xFF00` is 255 counts in every PWM period.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize)]
pub struct Duty(pub u16);

/// A count of bytes of memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize, Deserialize)]
pub struct Bytes(pub u32);

/// A count of processor clock cycles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Serialize)]
pub struct Cycles(pub u32);

impl fmt::Display for Hertz {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            hz if hz >= 1e6 => write!(f, "{} MHz", trimmed(hz / 1e6, 3)),
            hz if hz >= 1e4 => write!(f, "{} kHz", trimmed(hz / 1e3, 3)),
            hz => write!(f, "{} Hz", trimmed(hz, 2)),
        }
    }
}

impl fmt::Display for Volts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} V", trimmed(self.0, 2))
    }
}

impl fmt::Display for Amps {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            a if a >= 1.0 => write!(f, "{} A", trimmed(a, 3)),
            a if a > 0.0 && a < 50e-6 => write!(f, "{} uA", trimmed(a * 1e6, 1)),
            a => write!(f, "{} mA", trimmed(a * 1e3, 2)),
        }
    }
}

impl fmt::Display for Lux {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            lux if lux >= 1e3 => write!(f, "{} klux", trimmed(lux / 1e3, 1)),
            lux => write!(f, "{} lux", trimmed(lux, 1)),
        }
    }
}

impl fmt::Display for Ohms {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            ohms if ohms >= 1e6 => write!(f, "{} Mohm", trimmed(ohms / 1e6, 2)),
            ohms if ohms >= 1e3 => write!(f, "{} kohm", trimmed(ohms / 1e3, 2)),
            ohms => write!(f, "{} ohm", trimmed(ohms, 1)),
        }
    }
}

impl fmt::Display for Farads {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            farads if farads >= 0.999_999e-6 => write!(f, "{} uF", trimmed(farads * 1e6, 2)),
            farads if farads >= 0.999_999e-9 => write!(f, "{} nF", trimmed(farads * 1e9, 2)),
            farads => write!(f, "{} pF", trimmed(farads * 1e12, 1)),
        }
    }
}

impl fmt::Display for Watts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            watts if watts >= 1.0 => write!(f, "{} W", trimmed(watts, 2)),
            watts => write!(f, "{} mW", trimmed(watts * 1e3, 1)),
        }
    }
}

impl fmt::Display for AmpHours {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            held if held >= 10.0 => write!(f, "{} Ah", trimmed(held, 2)),
            held => write!(f, "{} mAh", trimmed(held * 1e3, 1)),
        }
    }
}

impl fmt::Display for Kelvin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} K", trimmed(self.0, 0))
    }
}

impl fmt::Display for Nanometres {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} nm", trimmed(self.0, 1))
    }
}

impl fmt::Display for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            s if s >= 2.0 * 86_400.0 => write!(f, "{} days", trimmed(s / 86_400.0, 1)),
            s if s >= 2.0 * 3600.0 => write!(f, "{} h", trimmed(s / 3600.0, 1)),
            s if s >= 1.0 => write!(f, "{} s", trimmed(s, 2)),
            s if s >= 1e-3 => write!(f, "{} ms", trimmed(s * 1e3, 2)),
            0.0 => write!(f, "0 s"),
            s if s >= 1e-6 => write!(f, "{} us", trimmed(s * 1e6, 1)),
            s => write!(f, "{} ns", trimmed(s * 1e9, 1)),
        }
    }
}

impl fmt::Display for Time {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            0 => write!(f, "0 s"),
            ns if ns < 1_000_000 => write!(f, "{} us", trimmed(ns as f64 / 1e3, 3)),
            ns if ns < 1_000_000_000 => write!(f, "{} ms", trimmed(ns as f64 / 1e6, 3)),
            ns if ns.is_multiple_of(3_600_000_000_000) => write!(f, "{} h", ns / 3_600_000_000_000),
            ns if ns > 60_000_000_000 && ns.is_multiple_of(60_000_000_000) => {
                write!(f, "{} min", ns / 60_000_000_000)
            }
            ns => write!(f, "{} s", trimmed(ns as f64 / 1e9, 3)),
        }
    }
}

impl fmt::Display for Share {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} %", trimmed(self.0 * 100.0, 2))
    }
}

impl fmt::Display for Lightness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "L* {:.2}", self.0)
    }
}

impl fmt::Display for DeltaLightness {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.2} L*", self.0)
    }
}

impl fmt::Display for Bytes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} B", self.0)
    }
}

impl fmt::Display for Cycles {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} cycles", self.0)
    }
}

/// `value` with at most `places` decimals and no trailing zeros.
fn trimmed(value: f64, places: usize) -> String {
    let text = format!("{value:.places$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantities_read_as_a_person_writes_them() {
        assert_eq!(Hertz(8e6).to_string(), "8 MHz");
        assert_eq!(Hertz(31250.0).to_string(), "31.25 kHz");
        assert_eq!(Hertz(1953.125).to_string(), "1953.12 Hz");
        assert_eq!(Time::from_millis(250).to_string(), "250 ms");
        assert_eq!(Time::from_millis(2000).to_string(), "2 s");
        assert_eq!(Time::from_millis(90_000).to_string(), "90 s");
        assert_eq!(Time::from_millis(1_080_000).to_string(), "18 min");
        assert_eq!(Time::from_millis(7_200_000).to_string(), "2 h");
        assert_eq!(Share(0.4).to_string(), "40 %");
        assert_eq!(Volts(3.2).to_string(), "3.2 V");
        assert_eq!(Farads(1e-6).to_string(), "1 uF");
        assert_eq!(Farads(47e-9).to_string(), "47 nF");
        assert_eq!(Watts(0.25).to_string(), "250 mW");
        assert_eq!(AmpHours(2.0).to_string(), "2000 mAh");
        assert_eq!(Seconds(0.0021).to_string(), "2.1 ms");
        assert_eq!(Seconds(200e-9).to_string(), "200 ns");
        assert_eq!(Seconds(300_000.0).to_string(), "3.5 days");
    }
}
