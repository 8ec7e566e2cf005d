//! The chip's registers.

/// A register, by its address in memory.
#[derive(Clone, Copy)]
pub struct Register(u16);

impl Register {
    /// Writes it.
    #[inline(always)]
    pub fn set(self, value: u8) {
        // SAFETY: only registers are named here, and none of them holds anything of Rust's.
        unsafe { core::ptr::without_provenance_mut::<u8>(self.0.into()).write_volatile(value) }
    }
}

pub const ACSR: Register = Register(0x28);
pub const CLKPR: Register = Register(0x46);
pub const DDRB: Register = Register(0x37);
pub const MCUCR: Register = Register(0x55);
pub const TCCR0A: Register = Register(0x4F);
pub const TCCR0B: Register = Register(0x53);
pub const TIMSK0: Register = Register(0x59);
pub const WDTCR: Register = Register(0x41);
