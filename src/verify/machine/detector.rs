//! The brown-out detector asleep (datasheets, 'BOD Disable'; from memory): it is off for a sleep that begins within
//! three cycles of a write of BODS alone, which must follow within four cycles of one of BODS and BODSE.

use super::moment::Moment;
use super::silicon::Silicon;

/// Cycles from both bits to the one, and from that to the sleep.
const UNLOCKED: u64 = 4;
const ARMED: u64 = 3;

/// The bits that switch it off, if the part has them.
#[derive(Debug, Clone, Copy)]
pub(super) struct Detector {
    register: Option<u16>,
    off: u8,
    unlock: u8,
    unlocked_until: Option<Moment>,
    armed_until: Option<Moment>,
}

impl Detector {
    pub(super) fn of(part: &Silicon) -> Self {
        let bit = |names: &[&str]| part.value(names).map_or(0, |bit| 1u8 << bit);
        let (off, unlock) = (bit(&["BODS", "BPDS"]), bit(&["BODSE", "BPDSE"]));
        Self {
            register: part.value(&["BODCR", "MCUCR"]).filter(|_| off != 0),
            off,
            unlock,
            unlocked_until: None,
            armed_until: None,
        }
    }

    /// A value is written into a register.
    pub(super) fn write(&mut self, register: u16, value: u8, at: Moment) {
        if self.register != Some(register) {
            return;
        }
        let both = self.off | self.unlock;
        let unlocked = self.unlocked_until.is_some_and(|until| at <= until);
        self.unlocked_until = (value & both == both).then_some(at + UNLOCKED);
        self.armed_until = (value & both == self.off && unlocked).then_some(at + ARMED);
    }

    /// Whether it is off in a sleep that begins now.
    pub(super) fn rests(&self, at: Moment) -> bool {
        self.armed_until.is_some_and(|until| at <= until)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn detector() -> Detector {
        Detector {
            register: Some(0x55),
            off: 1 << 7,
            unlock: 1 << 2,
            unlocked_until: None,
            armed_until: None,
        }
    }

    #[test]
    fn it_rests_in_a_sleep_that_follows_at_once() {
        let mut detector = detector();
        detector.write(0x55, 1 << 7 | 1 << 2, Moment(100));
        detector.write(0x55, 1 << 7, Moment(104));
        assert!(detector.rests(Moment(107)));
        assert!(!detector.rests(Moment(108)), "too late");
    }

    #[test]
    fn it_goes_on_without_the_sequence() {
        let mut detector = detector();
        detector.write(0x55, 1 << 7, Moment(100));
        assert!(!detector.rests(Moment(101)), "not unlocked");
        detector.write(0x55, 1 << 7 | 1 << 2, Moment(200));
        detector.write(0x55, 1 << 7, Moment(205));
        assert!(!detector.rests(Moment(206)), "one cycle too late");
        detector.write(0x55, 1 << 7 | 1 << 2, Moment(300));
        assert!(!detector.rests(Moment(301)), "unlocked alone");
    }
}
