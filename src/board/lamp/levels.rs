//! The light of each level of a channel.

use super::Off;
use crate::circuit::switch::{Course, Pulse, Switching};
use crate::design::Design;
use crate::light::cie;
use crate::units::{Duty, Level, Lightness, Luminance, Seconds, Share};

/// The levels of a channel.
#[derive(Clone, Copy)]
pub(super) struct Levels<'a> {
    pub design: &'a Design,
    pub channel: usize,
}

impl Levels<'_> {
    /// For which share of the time its pin is on at full light: 255 counts of every period, trimmed.
    pub(super) fn full(self) -> Share {
        let trim = self.design.project.channels[self.channel].trim.value.0;
        Share(trim * 255.0 / f64::from(self.design.plan.drive.whole(self.channel)))
    }

    /// What the LED shows at each level, its trim undone. `None`: an ideal switch, a rail that is firm.
    pub(super) fn light(
        self,
        switching: Option<&Switching>,
        droop: Option<&Droop>,
    ) -> Vec<Lightness> {
        let full = self.full().0;
        let one = |level| {
            let course = self.course(self.design.deck.duty(self.channel, level));
            let lit = switching.map_or(course.on(), |switching| switching.light(&course));
            let share = Share(lit.0 / course.length().0);
            let more = droop.map_or(1.0, |droop| droop.more(share));
            cie::lightness(Luminance(share.0 / full * more))
        };
        self.design.scale.levels().map(one).collect()
    }

    /// The pin's course until it comes round.
    fn course(self, duty: Duty) -> Course {
        let clock = self.design.plan.clock.frequency.0;
        let pulses = self.design.plan.drive.shown(self.channel, duty).into_iter();
        Course::new(pulses.map(|pulse| Pulse {
            on: Seconds(f64::from(pulse.on.0) / clock),
            off: Seconds(f64::from(pulse.off.0) / clock),
        }))
    }

    /// The level that is furthest from what it should be.
    pub(super) fn off(self, light: &[Lightness]) -> Off {
        let none = Off {
            error: 0.0,
            level: Level(0),
        };
        self.design.scale.levels().fold(none, |worst, level| {
            let wanted = self.design.scale.lightness(level);
            let error = light[usize::from(level.0)].0 - wanted.0;
            if error.abs() > worst.error.abs() {
                Off { error, level }
            } else {
                worst
            }
        })
    }
}

/// By how much more current flows through a string on a pump while it is lit for less of the time.
pub(super) struct Droop(Vec<f64>);

/// The pump's voltage is a smooth function of its load, so that straight lines between so many places
/// are within 0.01 L* of it.
const PLACES: u32 = 64;

impl Droop {
    /// From the current at a share of the time; `full` is that of full light.
    pub(super) fn new(full: Share, current: impl Fn(Share) -> f64) -> Self {
        let at = |place: u32| current(Share(f64::from(place) / f64::from(PLACES)));
        // A string that cannot be lit at all is none the brighter.
        let most = current(full).max(f64::MIN_POSITIVE);
        Self((0..=PLACES).map(|place| at(place) / most).collect())
    }

    fn more(&self, share: Share) -> f64 {
        let place = share.0.clamp(0.0, 1.0) * f64::from(PLACES);
        let below = (place as usize).min(PLACES as usize - 1);
        let part = place - below as f64;
        self.0[below] * (1.0 - part) + self.0[below + 1] * part
    }
}
