//! The firmware's random generator.

/// A 16-bit xorshift generator with shifts 7, 9 and 8: it runs through all 65 535 values but 0.
///
/// G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8 (14), 2003, gives the method;
/// a test walks through the whole period of this triple.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Generator(u16);

/// Told apart streams, by what is mixed into the seed's high byte.
pub const STREAM: u8 = 0x3B;

impl Generator {
    /// With this state; 0, from which it would never leave, counts as the first seed.
    pub fn new(state: u16) -> Self {
        Self(if state == 0 { Self::FIRST } else { state })
    }

    /// The state of a chip that has never run before.
    pub const FIRST: u16 = 1;

    /// The state, as the chip stores it.
    pub fn state(self) -> u16 {
        self.0
    }

    /// Moves on; returns the low byte of the state.
    pub fn advance(&mut self) -> u8 {
        self.0 ^= self.0 << 7;
        self.0 ^= self.0 >> 9;
        self.0 ^= self.0 << 8;
        self.0 as u8
    }

    /// A number from 0 to `span`, both included.
    pub fn draw(&mut self, span: u16) -> u16 {
        (((u32::from(span) + 1) * u32::from(self.advance())) >> 8) as u16
    }

    /// A generator for stream number `stream`, without moving this one.
    pub fn stream(self, stream: u8) -> Self {
        let [low, high] = self.0.to_le_bytes();
        let mixed = high ^ stream.wrapping_mul(STREAM);
        Self(u16::from_le_bytes([low | 1, mixed]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_visits_every_state_but_zero() {
        let mut generator = Generator::new(1);
        let mut seen = vec![false; 1 << 16];
        for _ in 0..65_535 {
            generator.advance();
            assert!(!std::mem::replace(
                &mut seen[usize::from(generator.state())],
                true
            ));
        }
        assert!(!seen[0]);
        assert_eq!(generator.state(), 1);
    }

    #[test]
    fn a_draw_reaches_both_ends_and_nothing_beyond() {
        let mut generator = Generator::new(7);
        for span in [0, 1, 5, 141, 255] {
            let drawn: Vec<u16> = (0..4000).map(|_| generator.draw(span)).collect();
            assert_eq!(drawn.iter().max(), Some(&span));
            assert_eq!(drawn.iter().min(), Some(&0));
        }
    }
}
