//! A compare unit of a timer and its output (section 'Compare Match Output Unit' of the datasheets).

use super::moment::Moment;
use super::pins::{Claim, Pins};

/// What a compare match does to the output; in the PWM shapes BOTTOM, or the way down, does the
/// opposite of `Clear` and `Set`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) enum OnMatch {
    /// The output is not connected to its pin.
    #[default]
    Nothing,
    Toggle,
    Clear,
    Set,
}

#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Channel {
    pub output: Option<Claim>,
    pub complement: Option<Claim>,
    /// The value compared with.
    pub compare: u16,
    /// The value last written, which waits for its update in the PWM shapes.
    pub buffer: u16,
    pub on_match: OnMatch,
    pub complement_connected: bool,
    /// The compare output register (OC).
    pub level: bool,
    /// The level that the pins were last given.
    pub shown: bool,
}

impl Channel {
    /// What a match does, or with `opposite` what BOTTOM or a match on the way down does.
    pub(super) fn act(&mut self, opposite: bool) {
        self.level = match self.on_match {
            OnMatch::Nothing => self.level,
            OnMatch::Toggle => !self.level,
            OnMatch::Clear => opposite,
            OnMatch::Set => !opposite,
        };
    }

    /// Puts a new level of the output on its pins, if it is connected.
    #[inline]
    pub(super) fn show(&mut self, at: Moment, pins: &mut Pins) {
        if self.level != self.shown && self.on_match != OnMatch::Nothing {
            self.connect(at, pins);
        }
    }

    /// The rest of a period of fast PWM: perhaps a match, and then BOTTOM, with which the next period
    /// begins; it [acts](Self::act) `opposite` there.
    #[inline]
    pub(super) fn turn(
        &mut self,
        matched: Option<Moment>,
        bottom: Moment,
        opposite: bool,
        pins: &mut Pins,
    ) {
        if self.on_match == OnMatch::Nothing {
            for claim in [self.output, self.complement].into_iter().flatten() {
                pins.turn_period(claim, bottom);
            }
            return;
        }
        let before = self.level;
        if matched.is_some() {
            self.act(false);
        }
        let matched = matched
            .filter(|_| self.level != before)
            .map(|at| (at, self.level));
        self.act(opposite);
        self.shown = self.level;
        if let Some(output) = self.output {
            pins.play_period(output, matched, bottom, self.level);
        }
        if let Some(complement) = self.complement {
            if self.complement_connected {
                let matched = matched.map(|(at, level)| (at, !level));
                pins.play_period(complement, matched, bottom, !self.level);
            } else {
                pins.turn_period(complement, bottom);
            }
        }
    }

    pub(super) fn connect(&mut self, at: Moment, pins: &mut Pins) {
        self.shown = self.level;
        let connected = self.on_match != OnMatch::Nothing;
        if let Some(output) = self.output {
            pins.set_compare(output, connected.then_some(self.level), at);
        }
        if let Some(complement) = self.complement {
            let level = (connected && self.complement_connected).then_some(!self.level);
            pins.set_compare(complement, level, at);
        }
    }
}
