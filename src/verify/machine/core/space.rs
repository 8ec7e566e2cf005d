//! The data space: working registers, I/O registers and RAM, and what stands out among them.

use super::flags::Status;
use super::instruction::{Pointer, Reg};
use super::{Bus, Core};

/// Places of the core's own registers in the I/O space.
const STACK_LOW: u16 = 0x3D;
const STACK_HIGH: u16 = 0x3E;
const STATUS: u16 = 0x3F;

impl<B: Bus> Core<B> {
    /// What a load finds, or `None` past the end of memory. The access ends the instruction's
    /// `cycles`: its value is taken at the start of the last one.
    #[inline]
    pub(super) fn load(&mut self, address: u16, cycles: u8) -> Option<u8> {
        if self.is_watched(address) {
            return Some(self.bus.read(address, self.cycle + u64::from(cycles - 1)));
        }
        self.plain(address)
    }

    /// Stores a byte; it is there after `cycles` of the instruction.
    #[inline]
    pub(super) fn store(&mut self, address: u16, value: u8, cycles: u8) -> Option<()> {
        if self.is_watched(address) {
            self.bus
                .write(address, value, self.cycle + u64::from(cycles));
            return Some(());
        }
        self.set_plain(address, value)
    }

    #[inline]
    pub(super) fn is_watched(&self, address: u16) -> bool {
        self.watched.get(usize::from(address)) == Some(&true)
    }

    /// A byte that no peripheral answers for.
    #[inline]
    pub(super) fn plain(&self, address: u16) -> Option<u8> {
        if address >= self.geometry.ram_start {
            return self.data.get(usize::from(address)).copied();
        }
        if address < self.set.io {
            return Some(self.registers[usize::from(address)]);
        }
        Some(match address - self.set.io {
            STACK_LOW => self.stack as u8,
            STACK_HIGH => (self.stack >> 8) as u8,
            STATUS => self.status.0,
            _ => self.data[usize::from(address)],
        })
    }

    #[inline]
    pub(super) fn set_plain(&mut self, address: u16, value: u8) -> Option<()> {
        if address >= self.geometry.ram_start {
            *self.data.get_mut(usize::from(address))? = value;
            return Some(());
        }
        if address < self.set.io {
            self.registers[usize::from(address)] = value;
            return Some(());
        }
        match address - self.set.io {
            // The high byte alone is half of a change: the low one is written last.
            STACK_HIGH => self.stack = self.stack & 0xFF | u16::from(value) << 8,
            STACK_LOW => self.move_stack(self.stack & 0xFF00 | u16::from(value)),
            STATUS => self.status = Status(value),
            _ => self.data[usize::from(address)] = value,
        }
        Some(())
    }

    #[inline]
    pub(super) fn push(&mut self, value: u8, cycles: u8) -> Option<()> {
        self.store(self.stack, value, cycles)?;
        self.move_stack(self.stack.wrapping_sub(1));
        Some(())
    }

    #[inline]
    pub(super) fn pop(&mut self, cycles: u8) -> Option<u8> {
        self.stack = self.stack.wrapping_add(1);
        self.load(self.stack, cycles)
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
