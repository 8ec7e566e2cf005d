//! One channel: a program, and a line being drawn.

use super::tables::*;

/// The state of one channel.
#[derive(Debug, Clone, Copy)]
#[repr(C)]
pub(crate) struct Track {
    /// Where the program goes on.
    at: Address,
    /// Where the program starts.
    home: Address,
    /// Ticks of the whole line.
    length: Ticks,
    /// How far the line is from the next level.
    debt: Ticks,
    /// The level shown.
    pub(crate) level: u8,
    /// The level at the end of the line.
    goal: u8,
    /// How many levels the line spans; 1 for a hold, 0 for what stays for ever.
    distance: u8,
}

/// How a channel starts.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Start {
    pub(crate) program: Address,
    pub(crate) level: u8,
}

impl Track {
    /// Before it is started.
    pub(crate) const IDLE: Self = Self {
        at: 0,
        home: 0,
        length: 0,
        debt: 0,
        level: 0,
        goal: 0,
        distance: 0,
    };

    /// Starts a program.
    pub(crate) fn start<M: Memory>(&mut self, start: Start) {
        self.at = start.program;
        self.home = start.program;
        self.level = start.level;
        self.fetch::<M>();
    }

    /// Moves on by one tick.
    ///
    /// The level moves each time the debt, less the line's distance, falls below 0; then the
    /// line's length is added. Over the line that is `distance` times, evenly: it begins with half a
    /// length, and the other half is added where its goal is reached. A hold is a line of one step
    /// that moves nothing.
    #[cfg_attr(target_arch = "avr", inline(never))]
    pub(crate) fn step<M: Memory>(&mut self) {
        let (mut debt, mut below) = self.debt.overflowing_sub(self.distance);
        while below {
            if self.level == self.goal {
                self.fetch::<M>();
                return;
            }
            if self.level < self.goal {
                self.level += 1;
            } else {
                self.level -= 1;
            }
            let more = if self.level == self.goal {
                self.length / 2
            } else {
                self.length
            };
            let (sum, carried) = debt.overflowing_add(more);
            debt = sum;
            below = !carried;
        }
        self.debt = debt;
    }

    /// Reads the program up to an operation that takes time.
    #[cfg_attr(target_arch = "avr", inline(never))]
    fn fetch<M: Memory>(&mut self) {
        loop {
            let (length, goal) = match self.next::<M>() {
                AGAIN => {
                    self.at = self.home;
                    continue;
                }
                length => (length, self.next::<M>()),
            };
            let distance = goal.abs_diff(self.level);
            let ahead = length.saturating_sub(1);
            self.length = length;
            self.debt = if distance == 0 { ahead } else { ahead / 2 };
            self.goal = goal;
            self.distance = distance.max(1);
            return;
        }
    }

    /// The next byte of the program.
    #[cfg_attr(target_arch = "avr", inline(never))]
    fn next<M: Memory>(&mut self) -> u8 {
        let byte = M::program(self.at);
        self.at = self.at.wrapping_add(1);
        byte
    }
}
