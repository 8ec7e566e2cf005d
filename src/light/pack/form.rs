//! The forms a table can take, each with the very arithmetic by which the chip reads it back.

use crate::units::Level;

/// How the duties of the levels are stored. Every form yields 16 bits, of which the chip then
/// keeps the top ones; the rounding for that cut is already in the stored numbers.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Form {
    /// A byte a level, the high byte of the duty: enough where nothing is spread over time.
    Plain8(Vec<u8>),
    /// Two bytes a level.
    Plain16(Vec<u16>),
    /// Every 2^`shift`-th level, straight lines between them.
    Interpolated {
        /// Bits of the level that lie between two knots: 2 to 5.
        shift: u8,
        /// One more than the last level needs, so that every level has a knot after it. That last
        /// one may have wrapped around; differences of knots wrap too, so it does no harm.
        knots: Vec<u16>,
    },
    /// A polynomial in the level; coefficients constant first, negative ones saturating.
    Polynomial {
        argument: Argument,
        coefficients: Vec<i32>,
    },
    /// A straight line below the level `knee`, a polynomial from there on.
    Kneed {
        argument: Argument,
        knee: Level,
        line: [i32; 2],
        coefficients: Vec<i32>,
    },
}

/// How a level becomes the argument x of a polynomial: a fixed-point number near 1 at the last
/// level, or between 1 and 2. With less, the sums in the evaluation would need more than 16 bits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Argument {
    /// The level is shifted left by so many bits, to fill a byte.
    pub shift: u8,
    /// How many of that byte's bits are the fraction: 7 or 8.
    pub fraction: u8,
}

impl Argument {
    /// Those that suit levels 0 to `top`. Eight bits of fraction only do where the last level
    /// becomes 255; multiplying is cheaper with them on some chips.
    pub fn up_to(top: Level) -> Vec<Self> {
        let shift = top.0.leading_zeros() as u8;
        let fractions = if top.0 << shift == 255 { 7..=8 } else { 7..=7 };
        fractions
            .rev()
            .map(|fraction| Self { shift, fraction })
            .collect()
    }

    /// The value of x at `level`.
    pub fn value(self, level: Level) -> f64 {
        f64::from(self.byte(level)) / f64::from(1u16 << self.fraction)
    }

    /// The polynomial at `level` by Horner's rule, all in 16 bits: each product is rounded down, a
    /// positive coefficient is added, a negative one subtracted, and what would fall below 0 is 0.
    /// `None`: a product or a sum left 16 bits.
    pub fn evaluate(self, coefficients: &[i32], level: Level) -> Option<u16> {
        let x = self.byte(level);
        coefficients.iter().rev().try_fold(0, |y, c| {
            let product = u16::try_from(product(y, x, self.fraction)).ok()?;
            u16::try_from((i32::from(product) + c).max(0)).ok()
        })
    }

    /// By how much the products and sums of [`evaluate`](Self::evaluate) are above 16 bits.
    pub fn excess(self, coefficients: &[i32], level: Level) -> f64 {
        let x = self.value(level);
        let highest = coefficients.iter().rev().scan(0.0, |y, &c| {
            let product = *y * x;
            *y = product + f64::from(c);
            Some(product.max(*y))
        });
        highest.map(|value| (value - 65_535.0).max(0.0)).sum()
    }

    /// The level in the byte that is multiplied by.
    fn byte(self, level: Level) -> u8 {
        level.0 << self.shift
    }
}

impl Form {
    /// The stored duty of `level`, before the chip cuts it to its depth. `None`: a table has no
    /// such level, or a sum leaves 16 bits there; never for the levels it was made for.
    pub fn raw(&self, level: Level) -> Option<u16> {
        let index = usize::from(level.0);
        match self {
            Form::Plain8(duties) => duties.get(index).map(|&high| u16::from(high) << 8),
            Form::Plain16(duties) => duties.get(index).copied(),
            Form::Interpolated { shift, knots } => {
                let (a, b) = (
                    *knots.get(index >> shift)?,
                    *knots.get((index >> shift) + 1)?,
                );
                // The bits below the knot, moved up to be a fraction of 256.
                let fraction = level.0 << (8 - shift);
                u16::try_from(u32::from(a) + product(b.wrapping_sub(a), fraction, 8)).ok()
            }
            Form::Polynomial {
                argument,
                coefficients,
            } => argument.evaluate(coefficients, level),
            Form::Kneed {
                argument,
                knee,
                line,
                ..
            } if level < *knee => argument.evaluate(line, level),
            Form::Kneed {
                argument,
                coefficients,
                ..
            } => argument.evaluate(coefficients, level),
        }
    }
}

/// `a · x`, where the low bits of x are a `fraction`, rounded down: the one multiplication that
/// all forms use, and the chip's.
fn product(a: u16, x: u8, fraction: u8) -> u32 {
    (u32::from(a) * u32::from(x)) >> fraction
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interpolation_is_the_plain_formula() {
        let knots = vec![3, 700, 40_000, 65_535];
        for shift in 2..=5u8 {
            let form = Form::Interpolated {
                shift,
                knots: knots.clone(),
            };
            for level in 0..(3u8 << shift) {
                let (a, b) = (
                    knots[level as usize >> shift],
                    knots[(level as usize >> shift) + 1],
                );
                let f = u32::from(level) & ((1 << shift) - 1);
                let expected = u32::from(a) + ((u32::from(b - a) * f) >> shift);
                assert_eq!(form.raw(Level(level)).map(u32::from), Some(expected));
            }
        }
    }

    #[test]
    fn a_polynomial_is_evaluated_from_its_highest_term() {
        let argument = Argument {
            shift: 2,
            fraction: 8,
        };
        let form = Form::Polynomial {
            argument,
            coefficients: vec![8, 512, 1024],
        };
        // x = 64 / 256: 1024 / 4 + 512 = 768; 768 / 4 + 8 = 200.
        assert_eq!(form.raw(Level(16)), Some(200));
    }

    #[test]
    fn a_negative_coefficient_stops_at_zero() {
        let argument = Argument {
            shift: 0,
            fraction: 8,
        };
        // x = 64 / 256, then 128 / 256.
        assert_eq!(argument.evaluate(&[0, -600, 2048], Level(64)), Some(0));
        assert_eq!(argument.evaluate(&[0, -600, 2048], Level(128)), Some(212));
    }

    #[test]
    fn a_last_knot_that_wrapped_around_is_still_above() {
        let form = Form::Interpolated {
            shift: 4,
            knots: vec![54_000, 500],
        };
        // 500 stands for 66 036: 54 000 + 12 036 * 15 / 16.
        assert_eq!(form.raw(Level(15)), Some(65_283));
    }

    #[test]
    fn a_sum_that_leaves_16_bits_is_no_value() {
        let argument = Argument {
            shift: 0,
            fraction: 7,
        };
        assert_eq!(argument.evaluate(&[0, 40_000], Level(200)), Some(62_500));
        assert_eq!(argument.evaluate(&[0, 60_000], Level(200)), None);
        // Nor does a subtraction bring a product back that was too large.
        assert_eq!(argument.evaluate(&[-40_000, 60_000], Level(200)), None);
    }

    #[test]
    fn an_argument_is_near_one_or_above_at_the_last_level() {
        for top in (1..=255).map(Level) {
            for argument in Argument::up_to(top) {
                assert!(
                    (255.0 / 256.0..2.0).contains(&argument.value(top)),
                    "{top:?}"
                );
            }
        }
    }
}
