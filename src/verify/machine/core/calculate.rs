//! Instructions that stay within the registers.

use super::flags::Status;
use super::instruction::{Instruction, Reg};
use super::{Bus, Core};

impl<B: Bus> Core<B> {
    /// Does an instruction of this kind; `None`: it is of another.
    #[inline(always)]
    pub(super) fn calculate(&mut self, instruction: Instruction) -> Option<()> {
        use Instruction as I;
        match instruction {
            I::Add(d, r) => self.with(d, self.reg(r), |s, a, b| s.add(a, b, 0)),
            I::AddWithCarry(d, r) => self.with(d, self.reg(r), |s, a, b| s.add(a, b, s.carry())),
            I::Subtract(d, r) => self.with(d, self.reg(r), |s, a, b| s.subtract(a, b, 0, false)),
            I::SubtractWithCarry(d, r) => self.with(d, self.reg(r), with_carry),
            I::And(d, r) => self.with(d, self.reg(r), |s, a, b| s.logic(a & b)),
            I::Or(d, r) => self.with(d, self.reg(r), |s, a, b| s.logic(a | b)),
            I::ExclusiveOr(d, r) => self.with(d, self.reg(r), |s, a, b| s.logic(a ^ b)),
            I::Compare(d, r) => self.compare(self.reg(d), self.reg(r)),
            I::CompareWithCarry(d, r) => {
                let (a, b) = (self.reg(d), self.reg(r));
                with_carry(&mut self.status, a, b);
            }
            I::Move(d, r) => self.set_reg(d, self.reg(r)),
            I::MoveWord(d, r) => self.set_pair(d, self.pair(r)),

            I::SubtractConstant(d, k) => self.with(d, k, |s, a, k| s.subtract(a, k, 0, false)),
            I::SubtractConstantWithCarry(d, k) => self.with(d, k, with_carry),
            I::CompareConstant(d, k) => self.compare(self.reg(d), k),
            I::AndConstant(d, k) => self.with(d, k, |s, a, k| s.logic(a & k)),
            I::OrConstant(d, k) => self.with(d, k, |s, a, k| s.logic(a | k)),
            I::LoadConstant(d, k) => self.set_reg(d, k),
            I::AddToWord(d, k) => {
                let sum = self.status.add_to_word(self.pair(d), k);
                self.set_pair(d, sum);
            }
            I::SubtractFromWord(d, k) => {
                let difference = self.status.subtract_from_word(self.pair(d), k);
                self.set_pair(d, difference);
            }

            I::Complement(d) => self.with(d, 0, |s, a, _| s.complement(a)),
            I::Negate(d) => self.with(d, 0, |s, a, zero| s.subtract(zero, a, 0, false)),
            I::Swap(d) => self.set_reg(d, self.reg(d).rotate_left(4)),
            I::Increment(d) => self.with(d, 0, |s, a, _| s.increment(a)),
            I::Decrement(d) => self.with(d, 0, |s, a, _| s.decrement(a)),
            I::ShiftRight(d) => self.shift(d, |value, _| value >> 1),
            I::ShiftRightSigned(d) => self.shift(d, |value, _| value >> 1 | value & 0x80),
            I::RotateRight(d) => self.shift(d, |value, carry| value >> 1 | carry << 7),

            I::Multiply(d, r) => self.multiply(self.plain_byte(d) * self.plain_byte(r), false),
            I::MultiplySigned(d, r) => self.multiply(self.signed(d) * self.signed(r), false),
            I::MultiplySignedUnsigned(d, r) => {
                self.multiply(self.signed(d) * self.plain_byte(r), false);
            }
            I::MultiplyFraction(d, r) => {
                self.multiply(self.plain_byte(d) * self.plain_byte(r), true);
            }
            I::MultiplyFractionSigned(d, r) => self.multiply(self.signed(d) * self.signed(r), true),
            I::MultiplyFractionSignedUnsigned(d, r) => {
                self.multiply(self.signed(d) * self.plain_byte(r), true);
            }

            I::SetFlag(bit) => self.set_status_now(Status(self.status.0 | bit.mask())),
            I::ClearFlag(bit) => self.status.0 &= !bit.mask(),
            I::StoreBit(d, bit) => self.status.set_transfer(self.reg(d) & bit.mask() != 0),
            I::LoadBit(d, bit) => {
                let set = if self.status.transfer() {
                    bit.mask()
                } else {
                    0
                };
                self.set_reg(d, self.reg(d) & !bit.mask() | set);
            }
            _ => return None,
        }
        Some(())
    }

    /// Leaves in `d` what comes of it and another byte, and the flags of that in the status.
    #[inline]
    fn with(&mut self, d: Reg, other: u8, result: impl FnOnce(&mut Status, u8, u8) -> u8) {
        let value = result(&mut self.status, self.registers[usize::from(d.0)], other);
        self.set_reg(d, value);
    }

    #[inline]
    fn compare(&mut self, a: u8, b: u8) {
        self.status.subtract(a, b, 0, false);
    }

    #[inline]
    fn shift(&mut self, d: Reg, shifted: impl FnOnce(u8, u8) -> u8) {
        let value = self.reg(d);
        let result = shifted(value, self.status.carry());
        self.status.shifted(value, result);
        self.set_reg(d, result);
    }

    fn signed(&self, reg: Reg) -> i32 {
        i32::from(self.reg(reg) as i8)
    }

    fn plain_byte(&self, reg: Reg) -> i32 {
        i32::from(self.reg(reg))
    }

    #[inline]
    fn multiply(&mut self, product: i32, fraction: bool) {
        let product = product as u16;
        let left = if fraction { product << 1 } else { product };
        self.status.product(product, left);
        self.set_pair(Reg(0), left);
    }
}

/// A subtraction with carry, which can only clear the zero flag.
#[inline]
fn with_carry(status: &mut Status, a: u8, b: u8) -> u8 {
    status.subtract(a, b, status.carry(), true)
}
