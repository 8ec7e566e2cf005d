//! The duties that a firmware has put out on a channel, as far as its pin may still show them.

use std::collections::VecDeque;

use super::machine::Moment;
use crate::units::Duty;

/// A duty, when the firmware began to work it out, and when it had put it out.
#[derive(Debug, Clone, Copy)]
pub(super) struct Put {
    pub(super) begun: Moment,
    pub(super) done: Moment,
    pub(super) duty: Duty,
}

/// Oldest first.
pub(super) struct Puts(pub(super) VecDeque<Put>);

impl Puts {
    /// Before the first duty it is dark.
    pub(super) fn dark() -> Self {
        Self(VecDeque::from([Put {
            begun: Moment(0),
            done: Moment(0),
            duty: Duty(0),
        }]))
    }

    /// A duty that was worked out from `begun` to `done`.
    pub(super) fn add(&mut self, begun: Moment, done: Moment, duty: Duty) {
        if self.0.back().is_none_or(|last| last.duty != duty) {
            self.0.push_back(Put { begun, done, duty });
        }
    }
}
