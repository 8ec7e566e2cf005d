//! What the PWM interrupt puts out and counts. The interrupt itself is in `pwm.s`.

use core::arch::{asm, global_asm};
use core::ptr::addr_of_mut;

use lantern::{CHANNELS, Duty};

global_asm!(
    include_str!("pwm.s"),
    lamps = sym LAMPS,
    phase = sym PHASE,
    overflows = sym OVERFLOWS,
    SREG = const 0x3F,
    SPL = const 0x3D,
    OCR0A = const 0x36,
);

/// A channel's fraction of a count, and its compare value: 255 is dark.
#[derive(Clone, Copy)]
#[repr(C)]
struct Lamp {
    part: u8,
    base: u8,
}

#[unsafe(export_name = "lamps")]
static mut LAMPS: [Lamp; CHANNELS] = [Lamp { part: 0, base: 0 }; CHANNELS];
static mut PHASE: u8 = 0;
static mut OVERFLOWS: u8 = 0;

/// Bytes of RAM that the interrupt reads or keeps.
pub const MEMORY: usize = size_of::<Lamp>() * CHANNELS + 1 + 1;

/// Takes the duties of one channel after the other.
pub fn lamps() -> impl FnMut(Duty) {
    let mut lamp = addr_of_mut!(LAMPS).cast::<Lamp>();
    move |duty| {
        let [part, high] = duty.0.to_le_bytes();
        // SAFETY: it is called once a channel, while interrupts are on. The interrupt only reads.
        unsafe {
            // Both at once: a fraction with the count of full light would be a period of dark.
            asm!("cli");
            addr_of_mut!((*lamp).part).write_volatile(part);
            addr_of_mut!((*lamp).base).write_volatile(!high);
            asm!("sei");
            lamp = lamp.add(1);
        }
    }
}

/// The overflows of the PWM timer, which the interrupt counts.
pub fn overflows() -> u8 {
    // SAFETY: a single byte.
    unsafe { addr_of_mut!(OVERFLOWS).read_volatile() }
}
