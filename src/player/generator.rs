//! The firmware's random generator.

/// A 16-bit generator: the three shifts of a xorshift (7, 9 and 8) with an addition after the first.
///
/// The method is G. Marsaglia's, "Xorshift RNGs", Journal of Statistical Software 8 (14), 2003. The
/// addition is ours. A pure xorshift never leaves 0, and the two bytes of a state that is saved
/// while patterns draw can come to any value. With this constant, one of two that a search of all
/// found, it runs through all 65 536 states, as a test shows, and for four bytes of code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Generator(u16);

/// Told apart streams, by what is mixed into the seed's high byte.
pub const STREAM: u8 = 0x3B;

impl Generator {
    /// With this state: any is as good as any other.
    pub const fn new(state: u16) -> Self {
        Self(state)
    }

    /// The state of a chip that has never run before.
    pub const FIRST: u16 = 0;

    /// What a chip that has no state of its own begins with: made of what its memory came up with at
    /// power-up, in the places where channels will be kept. No two chips' memories are alike. The two
    /// sums are J. G. Fletcher's checksum ("An Arithmetic Checksum for Serial Transmissions", IEEE
    /// Transactions on Communications 30 (1), 1982), modulo 256.
    pub fn chance_in(memory: &[u8]) -> Self {
        let sums = memory.iter().fold([0_u8; 2], |[low, high], byte| {
            let low = low.wrapping_add(*byte);
            [low, high.wrapping_add(low)]
        });
        let mut generator = Self(u16::from_le_bytes(sums));
        generator.advance();
        generator
    }

    /// What is added after the first shift.
    pub const ADDED: u16 = 0x7C19;

    /// The state, as the chip stores it.
    pub fn state(self) -> u16 {
        self.0
    }

    /// Moves on; returns the low byte of the state.
    pub fn advance(&mut self) -> u8 {
        self.0 ^= self.0 << 7;
        self.0 = self.0.wrapping_add(Self::ADDED);
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
        Self(u16::from_le_bytes([low, mixed]))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_visits_every_state() {
        let mut generator = Generator::new(Generator::FIRST);
        let mut seen = vec![false; 1 << 16];
        for _ in 0..65_536 {
            generator.advance();
            let state = usize::from(generator.state());
            assert!(!std::mem::replace(&mut seen[state], true));
        }
        assert_eq!(generator.state(), Generator::FIRST);
    }

    /// Pearson's chi-square over the pairs of draws: far from it would be a pattern that people see.
    #[test]
    fn a_draw_tells_nothing_of_the_next() {
        for apart in 1..=6 {
            let mut generator = Generator::new(Generator::FIRST);
            let drawn: Vec<u8> = (0..65_536 + apart).map(|_| generator.advance()).collect();
            let mut count = vec![0_i32; 1 << 16];
            for (first, second) in drawn.iter().zip(&drawn[apart..]) {
                count[usize::from(u16::from_le_bytes([*first, *second]))] += 1;
            }
            let chi_square: i32 = count.iter().map(|&n| (n - 1) * (n - 1)).sum();
            let freedom = f64::from((1 << 16) - 1);
            assert!(f64::from(chi_square) < 1.05 * freedom, "{apart} apart");
        }
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
