//! What each instruction does.

use super::flags::Status;
use super::instruction::{Bit, Instruction, Pointer, Port, Reg};
use super::{Bus, Core, Effect};
use crate::verify::machine::moment::Moment;

/// I/O register with the bits of a program address above Z.
const RAMPZ: u16 = 0x3B;
const Z: Reg = Reg(Pointer::Z as u8);

/// No chip could do it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Refused;

type Done = Result<(), Refused>;

impl<B: Bus> Core<B> {
    /// Executes instructions until one does more than the core can, which is said, or until the bus
    /// wants attention, the instruction at one of two byte addresses comes next, or time is up.
    pub fn run(&mut self, limit: Moment, addresses: [u32; 2]) -> Effect {
        let places = addresses.map(|address| address / 2);
        // Kept here, not in the core, because each instruction waits for it.
        let mut pc = self.pc;
        let effect = loop {
            let end = self.bus.attention().min(limit);
            if self.cycle >= end || places.contains(&pc.into()) {
                break Effect::None;
            }
            let effect;
            (effect, pc) = self.step_at(pc);
            if effect != Effect::None {
                break effect;
            }
        };
        self.pc = pc;
        effect
    }

    /// Executes one instruction.
    pub fn step(&mut self) -> Effect {
        let (effect, pc) = self.step_at(self.pc);
        self.pc = pc;
        effect
    }

    /// Executes the instruction at `pc`, and says where to go on: there again if it failed. The clock
    /// moves on first: a store takes effect now, a load sees what was there a cycle ago.
    #[inline(always)]
    fn step_at(&mut self, pc: u16) -> (Effect, u16) {
        let Some(&decoded) = self.code.get(usize::from(pc)) else {
            return (Effect::Failed, pc);
        };
        self.executed += 1;
        let next = pc.wrapping_add(decoded.words.into());
        let Moment(before) = self.cycle;
        self.cycle = Moment(before + u64::from(decoded.cycles));
        match self.execute(decoded.instruction, next) {
            Ok(next) => (decoded.effect, next),
            Err(Refused) => {
                self.cycle = Moment(before);
                (Effect::Failed, pc)
            }
        }
    }

    /// What to execute after this, which is `next` unless it is told otherwise.
    #[inline(always)]
    fn execute(&mut self, instruction: Instruction, next: u16) -> Result<u16, Refused> {
        use Instruction as I;
        let done = match instruction {
            I::Nop | I::Sleep | I::FeedWatchdog | I::Break => Ok(()),

            I::Add(d, r) => self.calculate(d, |s, status| status.add(s.reg(d), s.reg(r), 0)),
            I::AddWithCarry(d, r) => self.calculate(d, |s, status| {
                status.add(s.reg(d), s.reg(r), status.carry())
            }),
            I::Subtract(d, r) => {
                self.calculate(d, |s, status| status.subtract(s.reg(d), s.reg(r), 0, false))
            }
            I::SubtractWithCarry(d, r) => self.calculate(d, |s, status| {
                status.subtract(s.reg(d), s.reg(r), status.carry(), true)
            }),
            I::And(d, r) => self.calculate(d, |s, status| status.logic(s.reg(d) & s.reg(r))),
            I::Or(d, r) => self.calculate(d, |s, status| status.logic(s.reg(d) | s.reg(r))),
            I::ExclusiveOr(d, r) => {
                self.calculate(d, |s, status| status.logic(s.reg(d) ^ s.reg(r)))
            }
            I::Compare(d, r) => self.compare(self.reg(d), self.reg(r)),
            I::CompareWithCarry(d, r) => {
                let (a, b, borrow) = (self.reg(d), self.reg(r), self.status.carry());
                self.status.subtract(a, b, borrow, true);
                Ok(())
            }
            I::Move(d, r) => self.put(d, self.reg(r)),
            I::MoveWord(d, r) => {
                self.set_pair(d, self.pair(r));
                Ok(())
            }

            I::SubtractConstant(d, k) => {
                self.calculate(d, |s, status| status.subtract(s.reg(d), k, 0, false))
            }
            I::SubtractConstantWithCarry(d, k) => self.calculate(d, |s, status| {
                status.subtract(s.reg(d), k, status.carry(), true)
            }),
            I::CompareConstant(d, k) => self.compare(self.reg(d), k),
            I::AndConstant(d, k) => self.calculate(d, |s, status| status.logic(s.reg(d) & k)),
            I::OrConstant(d, k) => self.calculate(d, |s, status| status.logic(s.reg(d) | k)),
            I::LoadConstant(d, k) => self.put(d, k),
            I::AddToWord(d, k) => {
                let sum = self.status.add_to_word(self.pair(d), k);
                self.set_pair(d, sum);
                Ok(())
            }
            I::SubtractFromWord(d, k) => {
                let difference = self.status.subtract_from_word(self.pair(d), k);
                self.set_pair(d, difference);
                Ok(())
            }

            I::Complement(d) => self.calculate(d, |s, status| status.complement(s.reg(d))),
            I::Negate(d) => self.calculate(d, |s, status| status.subtract(0, s.reg(d), 0, false)),
            I::Swap(d) => self.put(d, self.reg(d).rotate_left(4)),
            I::Increment(d) => self.calculate(d, |s, status| status.increment(s.reg(d))),
            I::Decrement(d) => self.calculate(d, |s, status| status.decrement(s.reg(d))),
            I::ShiftRight(d) => self.shift(d, |value, _| value >> 1),
            I::ShiftRightSigned(d) => self.shift(d, |value, _| value >> 1 | value & 0x80),
            I::RotateRight(d) => self.shift(d, |value, carry| value >> 1 | carry << 7),

            I::Multiply(d, r) => {
                self.multiply(i32::from(self.reg(d)) * i32::from(self.reg(r)), false)
            }
            I::MultiplySigned(d, r) => self.multiply(self.signed(d) * self.signed(r), false),
            I::MultiplySignedUnsigned(d, r) => {
                self.multiply(self.signed(d) * i32::from(self.reg(r)), false)
            }
            I::MultiplyFraction(d, r) => {
                self.multiply(i32::from(self.reg(d)) * i32::from(self.reg(r)), true)
            }
            I::MultiplyFractionSigned(d, r) => self.multiply(self.signed(d) * self.signed(r), true),
            I::MultiplyFractionSignedUnsigned(d, r) => {
                self.multiply(self.signed(d) * i32::from(self.reg(r)), true)
            }

            I::SetFlag(bit) => {
                self.set_status_now(Status(self.status.0 | bit.mask()));
                Ok(())
            }
            I::ClearFlag(bit) => {
                self.status.0 &= !bit.mask();
                Ok(())
            }
            I::StoreBit(d, bit) => {
                let set = self.reg(d) & bit.mask() != 0;
                self.status.set_transfer(set);
                Ok(())
            }
            I::LoadBit(d, bit) => {
                let others = self.reg(d) & !bit.mask();
                let set = if self.status.transfer() {
                    bit.mask()
                } else {
                    0
                };
                self.put(d, others | set)
            }

            I::Load(d, pointer, displacement) => {
                self.load_to(d, self.pointer(pointer).wrapping_add(displacement.into()))
            }
            I::LoadThenUp(d, pointer) => {
                let address = self.pointer(pointer);
                self.set_pair(pointer.low(), address.wrapping_add(1));
                self.load_to(d, address)
            }
            I::LoadAfterDown(d, pointer) => {
                let address = self.pointer(pointer).wrapping_sub(1);
                self.set_pair(pointer.low(), address);
                self.load_to(d, address)
            }
            I::LoadDirect(d, address) => self.load_to(d, address),
            I::Store(r, pointer, displacement) => {
                let address = self.pointer(pointer).wrapping_add(displacement.into());
                self.store(address, self.reg(r))
            }
            I::StoreThenUp(r, pointer) => {
                let address = self.pointer(pointer);
                self.store(address, self.reg(r))?;
                self.set_pair(pointer.low(), address.wrapping_add(1));
                Ok(())
            }
            I::StoreAfterDown(r, pointer) => {
                let (address, value) = (self.pointer(pointer).wrapping_sub(1), self.reg(r));
                self.set_pair(pointer.low(), address);
                self.store(address, value)
            }
            I::StoreDirect(r, address) => self.store(address, self.reg(r)),
            I::Push(r) => self.push(self.reg(r)),
            I::Pop(d) => {
                let value = self.pop()?;
                self.put(d, value)
            }
            I::LoadProgram(d) => {
                let value = self.program_byte(self.pair(Z).into())?;
                self.put(d, value)
            }
            I::LoadProgramThenUp(d) => {
                let address = self.pair(Z);
                let value = self.program_byte(address.into())?;
                self.set_reg(d, value);
                self.set_pair(Z, address.wrapping_add(1));
                Ok(())
            }
            I::LoadFarProgram(d) => {
                let value = self.program_byte(self.far_address()?)?;
                self.put(d, value)
            }
            I::LoadFarProgramThenUp(d) => {
                let address = self.far_address()?;
                let value = self.program_byte(address)?;
                self.set_reg(d, value);
                let next = address + 1;
                self.set_pair(Z, next as u16);
                self.set_plain(self.set.io + RAMPZ, (next >> 16) as u8)
            }

            I::In(d, port) => self.load_to(d, self.address_of(port)),
            I::Out(port, r) => self.store(self.address_of(port), self.reg(r)),
            I::SetPortBit(port, bit) => self.write_port_bit(port, bit, true),
            I::ClearPortBit(port, bit) => self.write_port_bit(port, bit, false),

            I::BranchIfSet(bit, distance) => {
                return self.branch_if(self.status.0 & bit.mask() != 0, next, distance);
            }
            I::BranchIfClear(bit, distance) => {
                return self.branch_if(self.status.0 & bit.mask() == 0, next, distance);
            }
            I::SkipIfEqual(d, r) => return self.skip_if(self.reg(d) == self.reg(r), next),
            I::SkipIfClear(r, bit) => return self.skip_if(self.reg(r) & bit.mask() == 0, next),
            I::SkipIfSet(r, bit) => return self.skip_if(self.reg(r) & bit.mask() != 0, next),
            I::SkipIfPortBitClear(port, bit) => {
                let value = self.load(self.address_of(port))?;
                return self.skip_if(value & bit.mask() == 0, next);
            }
            I::SkipIfPortBitSet(port, bit) => {
                let value = self.load(self.address_of(port))?;
                return self.skip_if(value & bit.mask() != 0, next);
            }
            I::JumpBy(distance) => return Ok(self.wrapped(next, distance)),
            I::JumpTo(target) => return Ok(target),
            I::JumpToZ => return Ok(self.pair(Z)),
            I::CallBy(distance) => return self.call(self.wrapped(next, distance), next),
            I::CallTo(target) => return self.call(target, next),
            I::CallZ => return self.call(self.pair(Z), next),
            I::Return => return self.give_back(),
            I::ReturnFromInterrupt => {
                let mut status = self.status;
                status.allow_interrupts(true);
                self.set_status_now(status);
                return self.give_back();
            }

            // Programming its own flash is beyond this model.
            I::StoreProgram | I::JumpFar | I::CallFar | I::Unknown => Err(Refused),
        };
        done.map(|()| next)
    }

    /// Leaves a result in `d` and its flags in the status.
    #[inline]
    fn calculate(&mut self, d: Reg, result: impl FnOnce(&Self, &mut Status) -> u8) -> Done {
        let mut status = self.status;
        let value = result(self, &mut status);
        self.status = status;
        self.put(d, value)
    }

    #[inline]
    fn compare(&mut self, a: u8, b: u8) -> Done {
        self.status.subtract(a, b, 0, false);
        Ok(())
    }

    #[inline]
    fn shift(&mut self, d: Reg, shifted: impl FnOnce(u8, u8) -> u8) -> Done {
        let value = self.reg(d);
        let result = shifted(value, self.status.carry());
        self.status.shifted(value, result);
        self.put(d, result)
    }

    #[inline]
    fn put(&mut self, d: Reg, value: u8) -> Done {
        self.set_reg(d, value);
        Ok(())
    }

    fn signed(&self, reg: Reg) -> i32 {
        i32::from(self.reg(reg) as i8)
    }

    #[inline]
    fn multiply(&mut self, product: i32, fraction: bool) -> Done {
        let product = product as u16;
        let left = if fraction { product << 1 } else { product };
        self.status.product(product, left);
        self.set_pair(Reg(0), left);
        Ok(())
    }

    #[inline]
    fn load_to(&mut self, d: Reg, address: u16) -> Done {
        let value = self.load(address)?;
        self.put(d, value)
    }

    #[inline]
    fn program_byte(&self, address: u32) -> Result<u8, Refused> {
        self.flash.get(address as usize).copied().ok_or(Refused)
    }

    fn far_address(&self) -> Result<u32, Refused> {
        let above = self.plain(self.set.io + RAMPZ)?;
        Ok(u32::from(above) << 16 | u32::from(self.pair(Z)))
    }

    #[inline]
    fn address_of(&self, port: Port) -> u16 {
        self.set.io + u16::from(port.0)
    }

    /// SBI and CBI.
    fn write_port_bit(&mut self, port: Port, bit: Bit, set: bool) -> Done {
        let address = self.address_of(port);
        if self.is_watched(address) {
            self.bus.write_bit(address, bit.0, set, self.cycle);
            return Ok(());
        }
        let others = self.plain(address)? & !bit.mask();
        self.set_plain(address, if set { others | bit.mask() } else { others })
    }

    #[inline]
    fn branch_if(&mut self, so: bool, next: u16, distance: i8) -> Result<u16, Refused> {
        if !so {
            return Ok(next);
        }
        self.cycle += u64::from(self.set.timing.branch - 1);
        Ok(next.wrapping_add_signed(distance.into()))
    }

    #[inline]
    fn skip_if(&mut self, so: bool, next: u16) -> Result<u16, Refused> {
        if !so {
            return Ok(next);
        }
        let skipped = self.code.get(usize::from(next)).ok_or(Refused)?.words;
        self.cycle += u64::from(skipped);
        Ok(next.wrapping_add(skipped.into()))
    }

    /// RJMP and RCALL go round the ends of the flash: the program counter has no more bits than the
    /// flash needs.
    #[inline]
    fn wrapped(&self, next: u16, distance: i16) -> u16 {
        next.wrapping_add_signed(distance) & (self.code.len() - 1) as u16
    }

    #[inline]
    fn call(&mut self, target: u16, next: u16) -> Result<u16, Refused> {
        let [low, high] = next.to_le_bytes();
        self.push(low)?;
        self.push(high)?;
        Ok(target)
    }

    #[inline]
    fn give_back(&mut self) -> Result<u16, Refused> {
        let high = self.pop()?;
        let low = self.pop()?;
        Ok(u16::from_le_bytes([low, high]))
    }
}
