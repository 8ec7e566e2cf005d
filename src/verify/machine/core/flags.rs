//! The status register, and what arithmetic makes of it (AVR Instruction Set Manual, 'Status
//! Register (SREG) and Boolean Formula' of each instruction).

/// SREG.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Status(pub u8);

const CARRY: u8 = 1 << 0;
const ZERO: u8 = 1 << 1;
const NEGATIVE: u8 = 1 << 2;
const OVERFLOW: u8 = 1 << 3;
const SIGN: u8 = 1 << 4;
const HALF_CARRY: u8 = 1 << 5;
const TRANSFER: u8 = 1 << 6;
const INTERRUPT: u8 = 1 << 7;

/// What every result of a calculation says of itself.
const OF_RESULT: u8 = ZERO | NEGATIVE | OVERFLOW | SIGN;
const OF_SUM: u8 = OF_RESULT | CARRY | HALF_CARRY;

impl Status {
    #[inline]
    pub fn carry(self) -> u8 {
        self.0 & CARRY
    }

    #[inline]
    pub fn interrupts(self) -> bool {
        self.0 & INTERRUPT != 0
    }

    #[inline]
    pub fn allow_interrupts(&mut self, allowed: bool) {
        self.put(INTERRUPT, if allowed { INTERRUPT } else { 0 });
    }

    #[inline]
    pub fn transfer(self) -> bool {
        self.0 & TRANSFER != 0
    }

    #[inline]
    pub fn set_transfer(&mut self, set: bool) {
        self.put(TRANSFER, if set { TRANSFER } else { 0 });
    }

    /// `a + b + carry`.
    #[inline]
    pub fn add(&mut self, a: u8, b: u8, carry: u8) -> u8 {
        let sum = a.wrapping_add(b).wrapping_add(carry);
        let carries = a & b | (a | b) & !sum;
        let overflow = (a ^ sum) & (b ^ sum);
        self.put(OF_SUM, of_carries(carries) | of_result(sum, overflow));
        sum
    }

    /// `a - b - borrow`. With `chained`, Z stays clear if lower bytes were not zero.
    #[inline]
    pub fn subtract(&mut self, a: u8, b: u8, borrow: u8, chained: bool) -> u8 {
        let difference = a.wrapping_sub(b).wrapping_sub(borrow);
        let borrows = !a & b | (!a | b) & difference;
        let overflow = (a ^ b) & (a ^ difference);
        let mut flags = of_carries(borrows) | of_result(difference, overflow);
        if chained {
            flags &= self.0 | !ZERO;
        }
        self.put(OF_SUM, flags);
        difference
    }

    /// After AND, OR, EOR.
    #[inline]
    pub fn logic(&mut self, result: u8) -> u8 {
        self.put(OF_RESULT, of_result(result, 0));
        result
    }

    pub fn complement(&mut self, a: u8) -> u8 {
        self.0 |= CARRY;
        self.logic(!a)
    }

    #[inline]
    pub fn increment(&mut self, a: u8) -> u8 {
        let result = a.wrapping_add(1);
        self.put(OF_RESULT, of_result(result, result & !a));
        result
    }

    #[inline]
    pub fn decrement(&mut self, a: u8) -> u8 {
        let result = a.wrapping_sub(1);
        self.put(OF_RESULT, of_result(result, a & !result));
        result
    }

    /// After a shift of `a` to the right: its lowest bit goes to C, and V is N exclusive-or C.
    #[inline]
    pub fn shifted(&mut self, a: u8, result: u8) -> u8 {
        let carry = a & CARRY;
        let overflow = result ^ carry << 7;
        self.put(OF_RESULT | CARRY, carry | of_result(result, overflow));
        result
    }

    #[inline]
    pub fn add_to_word(&mut self, a: u16, b: u8) -> u16 {
        let sum = a.wrapping_add(b.into());
        self.word(sum, !a & sum, a & !sum);
        sum
    }

    #[inline]
    pub fn subtract_from_word(&mut self, a: u16, b: u8) -> u16 {
        let difference = a.wrapping_sub(b.into());
        self.word(difference, a & !difference, !a & difference);
        difference
    }

    /// A product's C is its highest bit before the shift of the fractional forms, Z is that of what
    /// they leave.
    #[inline]
    pub fn product(&mut self, product: u16, left: u16) -> u16 {
        let zero = if left == 0 { ZERO } else { 0 };
        self.put(CARRY | ZERO, (product >> 15) as u8 | zero);
        left
    }

    #[inline]
    fn word(&mut self, result: u16, overflow: u16, carry: u16) {
        let high = (result >> 8) as u8;
        let mut flags = of_result(high, (overflow >> 8) as u8) & !ZERO;
        if result == 0 {
            flags |= ZERO;
        }
        self.put(OF_RESULT | CARRY, flags | (carry >> 15) as u8);
    }

    /// Replaces the flags of `mask`.
    #[inline]
    fn put(&mut self, mask: u8, flags: u8) {
        self.0 = self.0 & !mask | flags & mask;
    }
}

/// C and H, from the carries out of each bit.
#[inline]
fn of_carries(carries: u8) -> u8 {
    carries >> 7 | carries << 2 & HALF_CARRY
}

/// Z, N, V and S; the highest bit of `overflow` is V.
#[inline]
fn of_result(result: u8, overflow: u8) -> u8 {
    let zero = u8::from(result == 0) << 1;
    zero | result >> 5 & NEGATIVE | overflow >> 4 & OVERFLOW | (result ^ overflow) >> 3 & SIGN
}
