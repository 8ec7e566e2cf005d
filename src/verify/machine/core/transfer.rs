//! Instructions that reach memory and ports.

use super::execute::{Done, Refused};
use super::instruction::{Bit, Instruction, Pointer, Port, Reg};
use super::{Bus, Core};

/// I/O register with the bits of a program address above Z.
const RAMPZ: u16 = 0x3B;

/// The pointer that addresses the flash, and indirect jumps take.
pub(super) const Z: Reg = Reg(Pointer::Z as u8);

impl<B: Bus> Core<B> {
    /// Does an instruction of this kind, and says whether it is.
    #[inline(always)]
    pub(super) fn transfer(&mut self, instruction: Instruction) -> Result<bool, Refused> {
        use Instruction as I;
        match instruction {
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
            _ => return Ok(false),
        }
        .map(|()| true)
    }

    #[inline]
    fn put(&mut self, d: Reg, value: u8) -> Done {
        self.set_reg(d, value);
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
    pub(super) fn address_of(&self, port: Port) -> u16 {
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
}
