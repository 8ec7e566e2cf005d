//! The model of a contact, with the firmware's rules.

use super::ContactTicks;

/// What was seen of a contact: up to `debounce` the ticks for which it was open; from there on those for which
/// it has been closed since.
#[derive(Debug, Clone, Copy, Default)]
pub struct Watch {
    seen: u16,
}

impl Watch {
    /// One tick on; whether it counts as closed now.
    pub fn closes(&mut self, closed: bool, ticks: ContactTicks) -> bool {
        let open = ticks.debounce;
        self.seen = match (closed, self.seen < open) {
            (false, true) => self.seen + 1,
            (false, false) => open,
            (true, true) => 0,
            (true, false) => self.seen + 1,
        };
        let counts = self.seen == ticks.full();
        if counts {
            self.seen = 0;
        }
        counts
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::input::testing::stretched;

    const TICKS: ContactTicks = ContactTicks {
        index: 0,
        debounce: 5,
    };

    /// How often it counts, over stretches of ticks with the contact open or closed.
    fn counts(stretches: &[(usize, bool)]) -> usize {
        let mut watch = Watch::default();
        let ticks = stretched(stretches);
        ticks.filter(|closed| watch.closes(*closed, TICKS)).count()
    }

    #[test]
    fn each_closing_counts_once_it_lasts() {
        assert_eq!(counts(&[(9, false), (4, true), (9, false)]), 0);
        assert_eq!(counts(&[(9, false), (5, true), (9, false)]), 1);
        assert_eq!(counts(&[(9, false), (500, true), (5, false), (5, true)]), 2);
    }

    #[test]
    fn one_that_opens_for_a_moment_has_not_opened() {
        assert_eq!(counts(&[(9, false), (50, true), (4, false), (50, true)]), 1);
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
        ];
        assert_eq!(counts(&bounces), 1);
    }

    #[test]
    fn closed_from_the_first_tick_it_does_nothing_until_it_was_open() {
        assert_eq!(counts(&[(500, true)]), 0);
        assert_eq!(counts(&[(500, true), (5, false), (5, true)]), 1);
    }
}
