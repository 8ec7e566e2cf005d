//! The tables, in the program memory.

use core::arch::asm;

use lantern::tables::{self, Address, Memory, Place};

macro_rules! in_flash {
    ($name:ident: $type:ty = $value:expr) => {
        #[unsafe(link_section = ".progmem.light")]
        static $name: $type = $value;
    };
}

in_flash!(PROGRAMS: [u8; tables::PROGRAMS.len()] = tables::PROGRAMS);
in_flash!(STARTS: [u8; tables::STARTS.len()] = tables::STARTS);

/// A byte of a table in flash.
#[inline(always)]
fn byte<T>(table: &'static T, offset: usize) -> u8 {
    let address = core::ptr::from_ref(table).addr() + offset;
    let byte;
    // SAFETY: it only reads, and any address of the program memory can be read.
    unsafe {
        asm!(
            "lpm {}, Z",
            out(reg) byte,
            in("Z") address,
            options(pure, readonly, nostack, preserves_flags),
        );
    }
    byte
}

/// Reads the tables where they are.
pub struct Flash;

impl Memory for Flash {
    fn program(at: Address) -> u8 {
        byte(&PROGRAMS, usize::from(at))
    }

    fn start(at: Place) -> u8 {
        byte(&STARTS, usize::from(at))
    }
}
