//! A knob: what it lets through, with the firmware's rules.

use crate::spec::Sets;
use crate::units::{Level, Seconds};

/// Ends that a potentiometer may not reach: what is measured nearer to one is all the way. A hundredth of its track
/// may be left at an end (common practice, no source).
pub const ENDS: u8 = 3;

/// What is measured may be off by so much, either way, and nothing moves. By two more than the ends take, so that
/// noise beside an end does not move it either.
pub const PLAY: u8 = ENDS + 2;

/// From one end to the other it takes so many seconds or less, as long as its steps are no larger than its play: fast
/// enough for a hand, and no leap (common practice, no source).
const SWEEP: f64 = 1.5;

/// How fast the light follows a knob.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KnobTicks {
    pub sets: Sets,
    /// Of 255, each time that it is measured.
    pub step: u8,
}

impl KnobTicks {
    /// `every`: from one look at it to the next.
    pub fn new(sets: Sets, every: Seconds) -> Self {
        let step = (f64::from(u8::MAX) * every.0 / SWEEP).round();
        Self {
            sets,
            step: step.clamp(1.0, PLAY.into()) as u8,
        }
    }
}

/// How fast patterns go: each tick its pace and one more is added to a count of 256, and where that comes round they
/// go on by a tick.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Speed {
    pub pace: Gain,
    count: u8,
}

impl Speed {
    /// As they are written.
    pub const FULL: Self = Self {
        pace: Gain::FULL,
        count: 0,
    };

    /// One tick; whether patterns go on.
    pub fn goes_on(&mut self) -> bool {
        let sum = u16::from(self.count) + u16::from(self.pace.0) + 1;
        self.count = sum as u8;
        sum > u16::from(u8::MAX)
    }
}

/// How much of the light is let through, by a knob or as cells are low: 0, none, to 255, all of it. It follows step by
/// step.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Gain(pub u8);

impl Gain {
    /// All of it: as if there were no knob.
    pub const FULL: Self = Self(u8::MAX);

    /// A step towards what is measured: a share of the supply, 255 being all of it.
    pub fn follow(&mut self, measured: u8, KnobTicks { step, .. }: KnobTicks) {
        let to = match measured {
            low if low < ENDS => 0,
            high if high > u8::MAX - ENDS => u8::MAX,
            between => between,
        };
        let at_end = to == 0 || to == u8::MAX;
        if self.0 < to && (at_end || to - self.0 > PLAY) {
            self.0 = self.0.saturating_add(step);
        } else if self.0 > to && (at_end || self.0 - to > PLAY) {
            self.0 = self.0.saturating_sub(step);
        }
    }

    /// A level as it lets it through: levels are scaled, not light.
    pub fn dim(self, level: Level) -> Level {
        Level((((u16::from(self.0) + 1) * u16::from(level.0)) >> 8) as u8)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn knob(step: u8) -> KnobTicks {
        KnobTicks {
            sets: Sets::Brightness,
            step,
        }
    }

    const STEPS: [KnobTicks; 3] = [knob(1), knob(3), knob(PLAY)];

    /// Where it comes to rest.
    fn rests(from: u8, measured: u8, steps: KnobTicks) -> u8 {
        let mut gain = Gain(from);
        (0..300).for_each(|_| gain.follow(measured, steps));
        gain.0
    }

    #[test]
    fn both_ends_are_reached_from_anywhere() {
        for steps in STEPS {
            for from in 0..=255 {
                for measured in 0..ENDS {
                    assert_eq!(rests(from, measured, steps), 0);
                    assert_eq!(rests(from, 255 - measured, steps), 255);
                }
            }
        }
    }

    #[test]
    fn wherever_it_rests_noise_does_not_move_it() {
        for steps in STEPS {
            for from in 0..=255_u8 {
                for measured in ENDS..=255 - ENDS {
                    let rest = rests(from, measured, steps);
                    assert!(rest.abs_diff(measured) <= PLAY);
                    let mut gain = Gain(rest);
                    gain.follow(measured, steps);
                    assert_eq!(gain.0, rest, "from {from} at {measured}");
                }
            }
        }
    }

    /// Two steps of noise beside an end, which itself pulls.
    #[test]
    fn at_an_end_it_stays() {
        for steps in STEPS {
            for (end, beside) in [(0, ENDS + 1), (255, 254 - ENDS)] {
                assert_eq!(rests(end, beside, steps), end);
            }
        }
    }

    #[test]
    fn it_never_leaps() {
        for steps in STEPS {
            let mut gain = Gain(0);
            for measured in [255, 0, 130, 7, 251, 252, 3, 4] {
                for _ in 0..60 {
                    let before = gain.0;
                    gain.follow(measured, steps);
                    assert!(gain.0.abs_diff(before) <= steps.step);
                }
            }
        }
    }

    #[test]
    fn patterns_go_by_as_many_256ths_as_the_pace_says() {
        for pace in 0..=255 {
            let mut speed = Speed {
                pace: Gain(pace),
                ..Speed::FULL
            };
            let went = (0..2560).filter(|_| speed.goes_on()).count();
            assert_eq!(went, 10 * (usize::from(pace) + 1));
        }
    }

    #[test]
    fn it_is_fast_enough_for_a_hand() {
        for (every, step) in [(1e-3, 1), (5e-3, 1), (20e-3, 3), (0.1, PLAY)] {
            assert_eq!(
                KnobTicks::new(Sets::Speed, Seconds(every)).step,
                step,
                "{every}"
            );
        }
    }
}
