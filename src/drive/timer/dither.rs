//! The interrupt's spreading of fractions over time.

use crate::units::{Duty, Hertz};

/// A cycle of periods, of which one leads: it is on for longer than the others by what they together
/// lack. So an interrupt copies one of two values a channel and computes nothing, and nothing is slower
/// than a cycle.
///
/// A fraction in one pulse, and not in as many as it has counts, makes the light's slowest component
/// stronger: 2 f / n for f of n counts that a cycle lacks, against full modulation of a lone count. A
/// slow switch adds its delay to one pulse more, and not to f.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dither {
    /// 0 to 8.
    pub extra_bits: u8,
}

/// The on-counts of a cycle's periods.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Split {
    /// Of the one that leads.
    pub lead: u8,
    /// Of each other.
    pub rest: u8,
}

impl Dither {
    pub fn new(extra_bits: u8) -> Self {
        Self { extra_bits }
    }

    /// How many periods a cycle has.
    pub fn phases(self) -> u16 {
        1 << self.extra_bits
    }

    /// The bits of a fraction that count.
    pub fn mask(self) -> u8 {
        (0xFF00_u16 >> self.extra_bits) as u8
    }

    /// The bits of a fraction that do not.
    fn unused(self) -> u32 {
        8 - u32::from(self.extra_bits)
    }

    /// A duty as the interrupt puts it out. Where the leading period would be on for more counts than
    /// there are, it is the one that is shorter.
    pub fn split(self, duty: Duty) -> Split {
        let [whole, fraction] = duty.0.to_be_bytes();
        let more = fraction.checked_shr(self.unused()).unwrap_or(0);
        let lacking = (self.phases() - 1) as u8;
        match whole.checked_add(more) {
            Some(lead) => Split { lead, rest: whole },
            None => Split {
                lead: whole.wrapping_add(more).wrapping_sub(lacking),
                rest: whole + 1,
            },
        }
    }

    /// The duty that a split comes to.
    pub fn duty(self, split: Split) -> Duty {
        let others = self.phases() - 1;
        let counts = u16::from(split.rest) * others + u16::from(split.lead);
        Duty(counts << self.unused())
    }

    /// Whether the leading period of this duty is the shorter one.
    pub fn wraps(self, duty: Duty) -> bool {
        let split = self.split(duty);
        split.lead < split.rest
    }

    /// The slowest component of a duty's light, where periods come with `frequency`: once a cycle, unless all
    /// its periods are alike. `None`: in the dark.
    pub fn slowest(self, duty: Duty, frequency: Hertz) -> Option<Hertz> {
        let Split { lead, rest } = self.split(duty);
        match (lead, rest) {
            (0, 0) => None,
            (lead, rest) if lead == rest => Some(frequency),
            _ => Some(Hertz(frequency.0 / f64::from(self.phases()))),
        }
    }

    /// The on-counts of a cycle, period by period.
    pub fn counts(self, duty: Duty) -> impl Iterator<Item = u8> {
        let split = self.split(duty);
        let rest = std::iter::repeat_n(split.rest, usize::from(self.phases()) - 1);
        std::iter::once(split.lead).chain(rest)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cycle_is_on_for_exactly_its_duty() {
        for extra_bits in 0..=8 {
            let dither = Dither::new(extra_bits);
            let step = 1 << (8 - extra_bits);
            for duty in (0..=0xFF00).step_by(step).map(Duty) {
                let counts: u32 = dither.counts(duty).map(u32::from).sum();
                assert_eq!(counts << (8 - extra_bits), u32::from(duty.0), "{duty:?}");
                assert_eq!(dither.duty(dither.split(duty)), duty);
            }
        }
    }

    /// The slowest component has the period with which the counts come round.
    #[test]
    fn the_slowest_component_is_as_long_as_the_counts_take_to_come_round() {
        for extra_bits in 0..=8 {
            let dither = Dither::new(extra_bits);
            let step = 1 << (8 - extra_bits);
            for duty in (0..=0xFF00).step_by(step).map(Duty) {
                let counts: Vec<u8> = dither.counts(duty).collect();
                let comes_round = |after: &usize| {
                    counts
                        .iter()
                        .zip(counts[*after..].iter().chain(&counts))
                        .all(|(a, b)| a == b)
                };
                let periods = (1..=counts.len()).find(comes_round).expect("a cycle");
                let found = dither.slowest(duty, Hertz(256.0));
                let wanted = (duty.0 > 0).then(|| Hertz(256.0 / periods as f64));
                assert_eq!(found, wanted, "{extra_bits} bits, {duty:?}");
            }
        }
    }

    #[test]
    fn only_the_brightest_duties_have_a_shorter_pulse_that_leads() {
        let dither = Dither::new(4);
        assert_eq!(
            dither.split(Duty(0xF1E0)),
            Split {
                lead: 255,
                rest: 241
            }
        );
        assert_eq!(
            dither.split(Duty(0xF1F0)),
            Split {
                lead: 241,
                rest: 242
            }
        );
        assert!(!dither.wraps(Duty(0xF1E0)) && dither.wraps(Duty(0xF1F0)));
        assert_eq!(
            dither.split(Duty(0xFF00)),
            Split {
                lead: 255,
                rest: 255
            }
        );
    }
}
