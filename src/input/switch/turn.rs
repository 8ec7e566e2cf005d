//! The model of a switch, with the firmware's rules.

use super::SwitchTicks;

/// For how many ticks a switch has been seen the other way.
#[derive(Debug, Clone, Copy, Default)]
pub struct Turning {
    seen: u16,
}

impl Turning {
    /// One tick on, with the switch closed or not, where it counted as closed or not; whether it counts as
    /// turned now.
    pub fn turns(&mut self, closed: bool, was: bool, ticks: SwitchTicks) -> bool {
        self.seen = if closed == was { 0 } else { self.seen + 1 };
        let turns = self.seen == ticks.debounce;
        if turns {
            self.seen = 0;
        }
        turns
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_turns_once_it_stays_the_other_way() {
        let ticks = SwitchTicks { debounce: 4 };
        let mut turning = Turning::default();
        let mut was = false;
        let mut turns = 0;
        let stretches = [
            (9, false),
            (3, true),
            (1, false),
            (3, true),
            (2, false),
            (9, true),
            (3, false),
            (9, true),
        ];
        for (count, closed) in stretches {
            for _ in 0..count {
                if turning.turns(closed, was, ticks) {
                    was = closed;
                    turns += 1;
                }
            }
        }
        assert_eq!((turns, was), (1, true));
    }
}
