//! A sensor of light: a light-dependent resistor from its pin to ground, and a resistor from there to the supply.
//! What is measured is high in the dark.

use serde::Serialize;

use crate::plan::Tick;
use crate::spec::{Sensor, Series};
use crate::units::{Lux, Ohms, Share, Time};

/// How steeply a light-dependent resistor falls with light, in decades of it for a decade of light: 0.7 for cells of
/// cadmium sulphide, from 0.6 to 0.8 by sort (their datasheets, from memory).
const GAMMA: f64 = 0.7;
/// For which light its resistance is given.
const AT: Lux = Lux(10.0);
/// How far its resistance may be off: cells are sold as 10 to 20 kohm (their datasheets, from memory).
const SPREAD: f64 = 1.5;

/// The resistor to the supply is so many times the other one at dusk, so that it lets little through in the bright;
/// what is measured at dusk is then a seventh of the supply, some 36 of the converter's 256 steps.
const TIMES: f64 = 6.0;

/// Steps of what is measured.
const STEPS: f64 = 256.0;

/// The two resistors, and what is measured between them.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Divider {
    /// To the supply.
    pub upper: Ohms,
    /// To ground, at 10 lux.
    pub lower: Ohms,
}

impl Divider {
    pub fn new(sensor: &Sensor) -> Self {
        let lower = sensor.resistance.value;
        let at_dusk = resistance(lower, sensor.dark.value);
        Self {
            upper: Series::E12.at_most(Ohms(TIMES * at_dusk.0)),
            lower,
        }
    }

    /// What is measured in this light, as a share of the supply.
    pub fn share(self, light: Lux) -> Share {
        let lower = resistance(self.lower, light).0;
        Share(lower / (lower + self.upper.0))
    }

    /// The same, as the firmware has it.
    pub fn measured(self, light: Lux) -> u8 {
        (self.share(light).0 * STEPS).min(STEPS - 1.0) as u8
    }

    /// The light in which so much is measured: of the brightest cell sold under its name, of this one, and of the
    /// dimmest.
    pub fn lights(self, measured: u8) -> [Lux; 3] {
        let share = f64::from(measured) / STEPS;
        let lower = self.upper.0 * share / (1.0 - share);
        [1.0 / SPREAD, 1.0, SPREAD]
            .map(|off| Lux(AT.0 * libm::pow(self.lower.0 * off / lower, 1.0 / GAMMA)))
    }
}

/// Of a light-dependent resistor that has `at_ten` at [`AT`].
fn resistance(at_ten: Ohms, light: Lux) -> Ohms {
    Ohms(at_ten.0 * libm::pow(AT.0 / light.0, GAMMA))
}

/// When it counts as dark, and as bright.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RoomTicks {
    /// What is measured is as much or more: it is dark.
    pub dark: u8,
    /// …or less: it is bright.
    pub bright: u8,
    /// The same as light.
    pub dark_light: Lux,
    pub bright_light: Lux,
    /// On so many ticks in a row, the light on; and one more.
    pub steady: u16,
    /// At so many looks in a row, one a period of the watchdog, the light off.
    pub looks: u8,
}

impl RoomTicks {
    pub fn new(sensor: &Sensor, tick: &Tick, period: Time) -> Self {
        let divider = Divider::new(sensor);
        let steady = sensor.steady.value.seconds();
        Self {
            dark: divider.measured(sensor.dark.value),
            bright: divider.measured(sensor.bright.value),
            dark_light: sensor.dark.value,
            bright_light: sensor.bright.value,
            steady: (steady / tick.seconds()).ceil().clamp(1.0, 60_000.0) as u16,
            // It may get dark just before the first.
            looks: (1.0 + (steady / period.seconds()).ceil()).clamp(2.0, 255.0) as u8,
        }
    }
}

/// How long it has been bright, the light on; or as it must be, the light off.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Room {
    ticks: u16,
}

impl Room {
    /// One tick on, the light on; whether it has been bright for long enough.
    pub fn is_bright(&mut self, measured: u8, room: RoomTicks) -> bool {
        let over = measured < room.bright && self.ticks == room.steady;
        self.ticks = match measured < room.bright {
            true => room.steady.min(self.ticks + 1),
            false => 0,
        };
        over
    }

    /// One tick on, the light off; whether it has been dark for long enough.
    pub fn is_dark(&mut self, measured: u8, room: RoomTicks) -> bool {
        self.ticks = match measured >= room.dark {
            true => self.ticks + 1,
            false => 0,
        };
        self.ticks >= room.steady
    }

    /// One tick on, after an evening: whether it has been bright again.
    pub fn was_bright(&mut self, measured: u8, room: RoomTicks) -> bool {
        let bright = self.is_bright(measured, room);
        if bright {
            self.ticks = 0;
        }
        bright
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROOM: RoomTicks = RoomTicks {
        dark: 40,
        bright: 20,
        dark_light: Lux(10.0),
        bright_light: Lux(40.0),
        steady: 5,
        looks: 3,
    };

    #[test]
    fn it_is_bright_once_it_stays_so() {
        let mut room = Room::default();
        let mut over = |measured: u8, ticks: usize| {
            (0..ticks)
                .filter(|_| room.is_bright(measured, ROOM))
                .count()
        };
        assert_eq!(over(19, 5), 0);
        assert_eq!(over(20, 1), 0, "headlights went by");
        assert_eq!(over(19, 5), 0);
        assert_eq!(over(0, 1), 1);
        assert_eq!(over(0, 2), 2, "until it goes");
    }

    #[test]
    fn it_is_dark_once_it_stays_so() {
        let mut room = Room::default();
        let mut over =
            |measured: u8, ticks: usize| (0..ticks).any(|_| room.is_dark(measured, ROOM));
        assert!(!over(255, 4) && !over(39, 1) && !over(40, 4));
        assert!(over(40, 1));
    }

    /// A GL5528, a light-dependent resistor of 8 to 20 kohm at 10 lux: some 2 kohm at 100 to 200 lux by the curve of its
    /// datasheet (from memory).
    #[test]
    fn resistance_falls_as_a_cell_of_cadmium_sulphide_has_it() {
        let at_150 = resistance(Ohms(15e3), Lux(150.0));
        assert!((1.5e3..3e3).contains(&at_150.0), "{at_150}");
        assert_eq!(resistance(Ohms(15e3), AT), Ohms(15e3));
    }

    #[test]
    fn a_light_is_what_its_measure_says() {
        let divider = Divider {
            upper: Ohms(82e3),
            lower: Ohms(15e3),
        };
        for lux in [1.0, 3.0, 10.0, 40.0] {
            let [below, is, above] = divider.lights(divider.measured(Lux(lux)));
            assert!((is.0 / lux - 1.0).abs() < 0.2, "{lux} lux: {is}");
            assert!(below < is && is < above);
        }
    }
}
