//! What each instruction does.

use super::flags::Status;
use super::instruction::{Bit, Instruction, Pointer, Port, Reg};
use super::{Bus, Core, Effect};

/// I/O register with the bits of a program address above Z.
const RAMPZ: u16 = 0x3B;
const Z: Reg = Reg(Pointer::Z as u8);

impl<B: Bus> Core<B> {
    /// Executes one instruction. The clock moves on when it is done: what it reads and writes on its
    /// way is told the cycle by its own count.
    #[inline]
    pub fn step(&mut self) -> Effect {
        let Some(decoded) = self.code.get(usize::from(self.pc)) else {
            return Effect::Failed;
        };
        let instruction = decoded.instruction;
        self.pc = self.pc.wrapping_add(u16::from(decoded.words));
        match self.execute(instruction) {
            Some(cycles) => {
                self.cycle += u64::from(cycles);
                match instruction {
                    Instruction::ReturnFromInterrupt => Effect::ReturnedFromInterrupt,
                    Instruction::FeedWatchdog => Effect::FedWatchdog,
                    Instruction::Sleep => Effect::Sleeps,
                    _ => Effect::None,
                }
            }
            None => Effect::Failed,
        }
    }

    /// The cycles it took, or `None` if no chip could do it.
    #[inline]
    fn execute(&mut self, instruction: Instruction) -> Option<u8> {
        use Instruction as I;
        let time = self.set.timing;
        match instruction {
            I::Nop | I::Sleep | I::FeedWatchdog | I::Break => Some(1),

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
                Some(1)
            }
            I::Move(d, r) => self.put(d, self.reg(r)),
            I::MoveWord(d, r) => {
                self.set_pair(d, self.pair(r));
                Some(1)
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
                let word = self.pair(d);
                let sum = self.status.add_to_word(word, k);
                self.set_pair(d, sum);
                Some(time.word)
            }
            I::SubtractFromWord(d, k) => {
                let word = self.pair(d);
                let difference = self.status.subtract_from_word(word, k);
                self.set_pair(d, difference);
                Some(time.word)
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
                self.status.0 |= bit.mask();
                Some(1)
            }
            I::ClearFlag(bit) => {
                self.status.0 &= !bit.mask();
                Some(1)
            }
            I::StoreBit(d, bit) => {
                let set = self.reg(d) & bit.mask() != 0;
                self.status.set_transfer(set);
                Some(1)
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
                let address = self.pointer(pointer).wrapping_add(displacement.into());
                self.load_to(d, address, time.load)
            }
            I::LoadThenUp(d, pointer) => {
                let address = self.pointer(pointer);
                self.set_pair(pointer.low(), address.wrapping_add(1));
                self.load_to(d, address, time.load)
            }
            I::LoadAfterDown(d, pointer) => {
                let address = self.pointer(pointer).wrapping_sub(1);
                self.set_pair(pointer.low(), address);
                self.load_to(d, address, time.load)
            }
            I::LoadDirect(d, address) => self.load_to(d, address, time.load_direct),
            I::Store(r, pointer, displacement) => {
                let address = self.pointer(pointer).wrapping_add(displacement.into());
                self.store_from(r, address, time.store)
            }
            I::StoreThenUp(r, pointer) => {
                let address = self.pointer(pointer);
                self.store(address, self.reg(r), time.store)?;
                self.set_pair(pointer.low(), address.wrapping_add(1));
                Some(time.store)
            }
            I::StoreAfterDown(r, pointer) => {
                let (address, value) = (self.pointer(pointer).wrapping_sub(1), self.reg(r));
                self.set_pair(pointer.low(), address);
                self.store(address, value, time.store)?;
                Some(time.store)
            }
            I::StoreDirect(r, address) => self.store_from(r, address, time.store_direct),
            I::Push(r) => {
                self.push(self.reg(r), time.push)?;
                Some(time.push)
            }
            I::Pop(d) => {
                let value = self.pop(time.pop)?;
                self.set_reg(d, value);
                Some(time.pop)
            }
            I::LoadProgram(d) => {
                let value = self.program_byte(self.pair(Z).into())?;
                self.set_reg(d, value);
                Some(time.load_program)
            }
            I::LoadProgramThenUp(d) => {
                let address = self.pair(Z);
                let value = self.program_byte(address.into())?;
                self.set_reg(d, value);
                self.set_pair(Z, address.wrapping_add(1));
                Some(time.load_program)
            }
            I::LoadFarProgram(d) => {
                let value = self.program_byte(self.far_address()?)?;
                self.set_reg(d, value);
                Some(time.load_program)
            }
            I::LoadFarProgramThenUp(d) => {
                let address = self.far_address()?;
                let value = self.program_byte(address)?;
                self.set_reg(d, value);
                let next = address + 1;
                self.set_pair(Z, next as u16);
                self.set_plain(self.set.io + RAMPZ, (next >> 16) as u8)?;
                Some(time.load_program)
            }

            I::In(d, port) => {
                let value = self.load(self.address_of(port), 1)?;
                self.put(d, value)
            }
            I::Out(port, r) => self.store_from(r, self.address_of(port), 1),
            I::SetPortBit(port, bit) => self.write_port_bit(port, bit, true),
            I::ClearPortBit(port, bit) => self.write_port_bit(port, bit, false),

            I::BranchIfSet(bit, distance) => {
                self.branch_if(self.status.0 & bit.mask() != 0, distance)
            }
            I::BranchIfClear(bit, distance) => {
                self.branch_if(self.status.0 & bit.mask() == 0, distance)
            }
            I::SkipIfEqual(d, r) => self.skip_if(self.reg(d) == self.reg(r)),
            I::SkipIfClear(r, bit) => self.skip_if(self.reg(r) & bit.mask() == 0),
            I::SkipIfSet(r, bit) => self.skip_if(self.reg(r) & bit.mask() != 0),
            I::SkipIfPortBitClear(port, bit) => {
                let value = self.load(self.address_of(port), 1)?;
                self.skip_if(value & bit.mask() == 0)
            }
            I::SkipIfPortBitSet(port, bit) => {
                let value = self.load(self.address_of(port), 1)?;
                self.skip_if(value & bit.mask() != 0)
            }
            I::JumpBy(distance) => self.go(self.wrapped(distance), time.jump),
            I::JumpTo(target) => self.go(target, time.jump_to),
            I::JumpToZ => self.go(self.pair(Z), time.jump),
            I::CallBy(distance) => self.call(self.wrapped(distance), time.call),
            I::CallTo(target) => self.call(target, time.call_to),
            I::CallZ => self.call(self.pair(Z), time.call),
            I::Return => self.give_back(),
            I::ReturnFromInterrupt => {
                let cycles = self.give_back();
                self.status.allow_interrupts(true);
                cycles
            }

            // Programming its own flash is beyond this model.
            I::StoreProgram | I::JumpFar | I::CallFar | I::Unknown => None,
        }
    }

    /// One cycle that leaves a result in `d` and its flags in the status.
    #[inline]
    fn calculate(&mut self, d: Reg, result: impl FnOnce(&Self, &mut Status) -> u8) -> Option<u8> {
        let mut status = self.status;
        let value = result(self, &mut status);
        self.status = status;
        self.put(d, value)
    }

    #[inline]
    fn compare(&mut self, a: u8, b: u8) -> Option<u8> {
        self.status.subtract(a, b, 0, false);
        Some(1)
    }

    #[inline]
    fn shift(&mut self, d: Reg, shifted: impl FnOnce(u8, u8) -> u8) -> Option<u8> {
        let value = self.reg(d);
        let result = shifted(value, self.status.carry());
        self.status.shifted(value, result);
        self.put(d, result)
    }

    #[inline]
    fn put(&mut self, d: Reg, value: u8) -> Option<u8> {
        self.set_reg(d, value);
        Some(1)
    }

    fn signed(&self, reg: Reg) -> i32 {
        i32::from(self.reg(reg) as i8)
    }

    #[inline]
    fn multiply(&mut self, product: i32, fraction: bool) -> Option<u8> {
        let product = product as u16;
        let left = if fraction { product << 1 } else { product };
        self.status.product(product, left);
        self.set_pair(Reg(0), left);
        Some(self.set.timing.multiply)
    }

    #[inline]
    fn load_to(&mut self, d: Reg, address: u16, cycles: u8) -> Option<u8> {
        let value = self.load(address, cycles)?;
        self.set_reg(d, value);
        Some(cycles)
    }

    #[inline]
    fn store_from(&mut self, r: Reg, address: u16, cycles: u8) -> Option<u8> {
        self.store(address, self.reg(r), cycles)?;
        Some(cycles)
    }

    #[inline]
    fn program_byte(&self, address: u32) -> Option<u8> {
        self.flash.get(address as usize).copied()
    }

    fn far_address(&self) -> Option<u32> {
        let above = self.plain(self.set.io + RAMPZ)?;
        Some(u32::from(above) << 16 | u32::from(self.pair(Z)))
    }

    #[inline]
    fn address_of(&self, port: Port) -> u16 {
        self.set.io + u16::from(port.0)
    }

    /// SBI and CBI.
    fn write_port_bit(&mut self, port: Port, bit: Bit, set: bool) -> Option<u8> {
        let cycles = self.set.timing.port_bit;
        let address = self.address_of(port);
        if self.is_watched(address) {
            let at = self.cycle + u64::from(cycles);
            self.bus.write_bit(address, bit.0, set, at);
        } else {
            let value = self.plain(address)?;
            let others = value & !bit.mask();
            self.set_plain(address, if set { others | bit.mask() } else { others })?;
        }
        Some(cycles)
    }

    #[inline]
    fn branch_if(&mut self, so: bool, distance: i8) -> Option<u8> {
        if !so {
            return Some(1);
        }
        self.pc = self.pc.wrapping_add_signed(distance.into());
        Some(self.set.timing.branch)
    }

    #[inline]
    fn skip_if(&mut self, so: bool) -> Option<u8> {
        if !so {
            return Some(1);
        }
        let words = self.code.get(usize::from(self.pc))?.words;
        self.pc = self.pc.wrapping_add(words.into());
        Some(1 + words)
    }

    /// RJMP and RCALL go round the ends of the flash: the program counter has no more bits than the
    /// flash needs.
    #[inline]
    fn wrapped(&self, distance: i16) -> u16 {
        self.pc.wrapping_add_signed(distance) & (self.code.len() - 1) as u16
    }

    #[inline]
    fn go(&mut self, target: u16, cycles: u8) -> Option<u8> {
        self.pc = target;
        Some(cycles)
    }

    #[inline]
    fn call(&mut self, target: u16, cycles: u8) -> Option<u8> {
        let [low, high] = self.pc.to_le_bytes();
        self.push(low, cycles)?;
        self.push(high, cycles)?;
        self.go(target, cycles)
    }

    #[inline]
    fn give_back(&mut self) -> Option<u8> {
        let cycles = self.set.timing.give_back;
        let high = self.pop(cycles)?;
        let low = self.pop(cycles)?;
        self.go(u16::from_le_bytes([low, high]), cycles)
    }
}
