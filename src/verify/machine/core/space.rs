//! The data space: working registers, I/O registers and RAM, and what stands out among them.

use super::execute::Refused;
use super::flags::Status;
use super::instruction::{Pointer, Reg};
use super::{Bus, Core};
use crate::verify::machine::moment::Moment;

/// Places of the core's own registers in the I/O space.
const STACK_LOW: u16 = 0x3D;
const STACK_HIGH: u16 = 0x3E;
const STATUS: u16 = 0x3F;

impl<B: Bus> Core<B> {
    /// What a load finds, which ends its instruction: the value is taken at the start of the last
    /// cycle. Past the end of memory there is nothing.
    #[inline]
    pub(super) fn load(&mut self, address: u16) -> Result<u8, Refused> {
        if self.is_watched(address) {
            return Ok(self.bus.read(address, Moment(self.cycle.0 - 1)));
        }
        self.plain(address)
    }

    /// Stores a byte; it is there when its instruction is done.
    #[inline]
    pub(super) fn store(&mut self, address: u16, value: u8) -> Result<(), Refused> {
        if self.is_watched(address) {
            self.bus.write(address, value, self.cycle);
            return Ok(());
        }
        self.set_plain(address, value)
    }

    #[inline]
    pub(super) fn is_watched(&self, address: u16) -> bool {
        self.watched.get(usize::from(address)) == Some(&true)
    }

    /// A byte that no peripheral answers for.
    #[inline]
    pub(super) fn plain(&self, address: u16) -> Result<u8, Refused> {
        if address >= self.geometry.ram_start {
            return self.data.get(usize::from(address)).copied().ok_or(Refused);
        }
        if address < self.set.io {
            return Ok(self.registers[usize::from(address)]);
        }
        Ok(match address - self.set.io {
            STACK_LOW => self.stack as u8,
            STACK_HIGH => (self.stack >> 8) as u8,
            STATUS => self.status.0,
            _ => self.data[usize::from(address)],
        })
    }

    #[inline]
    pub(super) fn set_plain(&mut self, address: u16, value: u8) -> Result<(), Refused> {
        if address >= self.geometry.ram_start {
            *self.data.get_mut(usize::from(address)).ok_or(Refused)? = value;
            return Ok(());
        }
        if address < self.set.io {
            self.registers[usize::from(address)] = value;
            return Ok(());
        }
        match address - self.set.io {
            // The high byte alone is half of a change: the low one is written last.
            STACK_HIGH => self.stack = self.stack & 0xFF | u16::from(value) << 8,
            STACK_LOW => self.move_stack(self.stack & 0xFF00 | u16::from(value)),
            STATUS => self.set_status_now(Status(value)),
            _ => self.data[usize::from(address)] = value,
        }
        Ok(())
    }

    #[inline]
    pub(super) fn push(&mut self, value: u8) -> Result<(), Refused> {
        self.store(self.stack, value)?;
        self.move_stack(self.stack.wrapping_sub(1));
        Ok(())
    }

    #[inline]
    pub(super) fn pop(&mut self) -> Result<u8, Refused> {
        self.stack = self.stack.wrapping_add(1);
        self.load(self.stack)
    }

    /// A new status, and a note of it if it allows interrupts again.
    #[inline]
    pub(super) fn set_status_now(&mut self, status: Status) {
        if status.interrupts() && !self.status.interrupts() {
            self.allowed = Some(self.cycle);
        }
        self.status = status;
    }

    #[inline]
    fn move_stack(&mut self, to: u16) {
        self.stack = to;
        self.lowest_stack = self.lowest_stack.min(to);
    }

    /// A working register. Decoding makes no number above 31, which the compiler cannot know.
    #[inline]
    pub(super) fn reg(&self, reg: Reg) -> u8 {
        self.registers[usize::from(reg.0 & 31)]
    }

    #[inline]
    pub(super) fn set_reg(&mut self, reg: Reg, value: u8) {
        self.registers[usize::from(reg.0 & 31)] = value;
    }

    #[inline]
    pub(super) fn pair(&self, low: Reg) -> u16 {
        u16::from_le_bytes([self.reg(low), self.reg(low.high())])
    }

    #[inline]
    pub(super) fn set_pair(&mut self, low: Reg, value: u16) {
        let [low_byte, high_byte] = value.to_le_bytes();
        self.set_reg(low, low_byte);
        self.set_reg(low.high(), high_byte);
    }

    #[inline]
    pub(super) fn pointer(&self, pointer: Pointer) -> u16 {
        self.pair(pointer.low())
    }
}
