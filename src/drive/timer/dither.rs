//! The interrupt's spreading of fractions over time.

/// The phases that the interrupt steps through.
///
/// All channels share one phase, and a channel gets a count more in those periods in which the
/// phase is below its fraction. An odd step visits each of the phases once before any again, so a
/// fraction of k/n gets exactly k counts in n periods, and nothing is slower than n periods.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dither {
    pub extra_bits: u8,
    /// Added to the phase, in 1/256, every period.
    pub stride: u8,
    /// The bits of a fraction that count.
    pub mask: u8,
}

impl Dither {
    /// For `extra_bits` (0 to 8) of depth. The step is the odd number nearest to the golden
    /// section of the cycle, which spreads the counts of small and large fractions evenly.
    pub fn new(extra_bits: u8) -> Self {
        let phases = f64::from(1_u16 << extra_bits);
        let golden = phases * 0.618_033_988_75;
        let step = 2.0 * ((golden - 1.0) / 2.0).round() + 1.0;
        let unit = 256_u16 >> extra_bits;
        Self {
            extra_bits,
            stride: (step as u16 * unit) as u8,
            mask: if extra_bits == 0 {
                0
            } else {
                (0xFF00_u16 >> extra_bits) as u8
            },
        }
    }

    /// How many periods it takes to visit all phases.
    pub fn phases(self) -> u16 {
        1 << self.extra_bits
    }

    /// In which of the periods of a cycle a fraction gets a count more.
    pub fn carries(self, fraction: u8) -> impl Iterator<Item = bool> {
        let stride = self.stride;
        (1..=self.phases()).map(move |n| (n as u8).wrapping_mul(stride) < fraction)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_fraction_gets_exactly_its_share_of_every_cycle() {
        for extra_bits in 1..=8 {
            let dither = Dither::new(extra_bits);
            for k in 0..dither.phases() {
                let fraction = (k << (8 - extra_bits)) as u8;
                let count = dither.carries(fraction).filter(|carry| *carry).count();
                assert_eq!(
                    count,
                    usize::from(k),
                    "{extra_bits} bits, fraction {fraction}"
                );
            }
        }
    }

    #[test]
    fn half_a_count_is_nearly_every_other_period() {
        let dither = Dither::new(4);
        let carries: Vec<bool> = dither.carries(0x80).collect();
        let longest = carries.chunk_by(|a, b| a == b).map(<[bool]>::len).max();
        assert!(longest <= Some(2), "{carries:?}");
    }
}
