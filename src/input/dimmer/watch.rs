//! The model of both buttons, with the firmware's rules.

use super::DimmerTicks;

/// What was seen of them: up to `debounce` the ticks for which neither was down, but for the first after a press; from
/// there on those for which one of them is.
#[derive(Debug, Clone, Copy, Default)]
pub struct Watch {
    seen: u16,
}

impl Watch {
    /// One tick on, with one of them down or not; whether that counts now. Both at once are as none.
    pub fn counts(&mut self, one: bool, ticks: DimmerTicks) -> bool {
        let seen = self.seen + 1;
        self.seen = match (one, seen > ticks.debounce) {
            (false, true) if seen > ticks.full() => 0,
            (false, true) => ticks.debounce,
            (true, false) => 0,
            (true, true) if seen == ticks.again() => ticks.full(),
            (true, true) | (false, false) => seen,
        };
        one && self.seen == ticks.full()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::testing::stretched;

    const TICKS: DimmerTicks = DimmerTicks {
        brighter: 0,
        darker: 1,
        debounce: 5,
        repeat: 80,
        step: 32,
        most: 224,
    };

    /// How often it counts, over stretches of ticks with one of them down or not.
    fn counts(stretches: &[(usize, bool)]) -> usize {
        let mut watch = Watch::default();
        let ticks = stretched(stretches);
        ticks.filter(|down| watch.counts(*down, TICKS)).count()
    }

    #[test]
    fn a_tap_counts_once() {
        assert_eq!(counts(&[(9, false), (4, true), (9, false)]), 0);
        assert_eq!(counts(&[(9, false), (5, true), (9, false)]), 1);
        assert_eq!(counts(&[(9, false), (84, true), (9, false)]), 1);
        assert_eq!(counts(&[(9, false), (20, true), (6, false), (20, true)]), 2);
    }

    #[test]
    fn held_it_counts_at_its_pace() {
        assert_eq!(counts(&[(9, false), (85, true)]), 2);
        assert_eq!(counts(&[(9, false), (5 + 7 * 80, true)]), 8);
    }

    #[test]
    fn bouncing_counts_once() {
        let bounces = [
            (9, false),
            (2, true),
            (1, false),
            (1, true),
            (2, false),
            (50, true),
            (1, false),
            (2, true),
            (3, false),
            (1, true),
            (30, false),
        ];
        assert_eq!(counts(&bounces), 1);
    }

    #[test]
    fn a_gap_brings_no_further_step() {
        assert_eq!(counts(&[(9, false), (50, true), (1, false), (50, true)]), 1);
        assert_eq!(
            counts(&[(9, false), (50, true), (4, false), (500, true)]),
            1
        );
    }

    #[test]
    fn down_from_the_first_tick_it_does_nothing_until_it_was_let_go() {
        assert_eq!(counts(&[(500, true)]), 0);
        assert_eq!(counts(&[(500, true), (5, false), (5, true)]), 1);
    }
}
