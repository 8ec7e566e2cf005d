//! The cells that feed the chip: how low they are, with the firmware's rules.

use super::knob::Gain;
use crate::spec::Guard;
use crate::target::Limits;

/// So many looks in a row must find the cells at their next limit: light that comes and goes pulls them down for a
/// moment only.
pub const LOOKS: u16 = 256;

/// Nothing that is measured is beyond it: they are spent.
pub const SPENT: u8 = u8::MAX;

/// When cells are low and when they are spent, and what is done about it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CellRules {
    pub limits: Limits,
    /// What is let through of the light when they are low.
    pub dimmed: Gain,
}

impl CellRules {
    pub fn new(guard: &Guard, limits: Limits) -> Self {
        Self {
            limits,
            dimmed: Gain((guard.to.0 * f64::from(u8::MAX)).round() as u8),
        }
    }
}

/// How low the cells have been. It never gets better: cells that rest recover, and then are as low again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cells {
    /// What must be measured for them to be at the next limit.
    limit: u8,
    /// On how many looks in a row it was.
    seen: u8,
}

impl Cells {
    pub fn fresh(rules: CellRules) -> Self {
        Self {
            limit: rules.limits.dim,
            seen: 0,
        }
    }

    /// A look at the supply: the chip's reference as a share of it.
    pub fn look(&mut self, measured: u8, rules: CellRules) {
        if measured < self.limit {
            self.seen = 0;
            return;
        }
        self.seen = self.seen.wrapping_add(1);
        if self.seen == 0 {
            self.limit = match self.limit == rules.limits.dim {
                true => rules.limits.off,
                false => SPENT,
            };
        }
    }

    /// The light is to be dimmed.
    pub fn are_low(self, rules: CellRules) -> bool {
        self.limit != rules.limits.dim
    }

    /// The light is to go.
    pub fn are_spent(self) -> bool {
        self.limit == SPENT
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RULES: CellRules = CellRules {
        limits: Limits { dim: 85, off: 94 },
        dimmed: Gain(127),
    };

    fn after(looks: impl IntoIterator<Item = u8>) -> Cells {
        let mut cells = Cells::fresh(RULES);
        looks
            .into_iter()
            .for_each(|measured| cells.look(measured, RULES));
        cells
    }

    fn times(measured: u8, times: usize) -> impl Iterator<Item = u8> {
        std::iter::repeat_n(measured, times)
    }

    #[test]
    fn they_are_low_once_that_lasts() {
        assert!(!after(times(85, 255)).are_low(RULES));
        assert!(after(times(85, 256)).are_low(RULES));
        assert!(!after(times(84, 5000)).are_low(RULES));
    }

    #[test]
    fn a_moment_above_begins_anew() {
        let moments = times(85, 255).chain([84]).chain(times(85, 255));
        assert!(!after(moments).are_low(RULES));
    }

    #[test]
    fn they_are_low_before_they_are_spent() {
        let cells = after(times(200, 256));
        assert!(cells.are_low(RULES) && !cells.are_spent());
        assert!(after(times(200, 512)).are_spent());
        assert!(!after(times(93, 5000)).are_spent());
    }

    /// Cells that rest recover; the light does not come back for that.
    #[test]
    fn they_never_get_better() {
        assert!(after(times(94, 256).chain(times(0, 5000))).are_low(RULES));
        assert!(after(times(94, 512).chain(times(0, 5000))).are_spent());
    }
}
