//! The assembly: tables, player and interrupt, as the firmware in C has them, and what Rust sees of them.

use core::arch::global_asm;

// In one piece, so that all of it knows the names.
global_asm!(
    include_str!("names.s"),
    include_str!("pwm.s"),
    include_str!("tables.s"),
    include_str!("player.s"),
    options(raw)
);

// Nothing of this is more than memory that nobody else has, or a call that returns.
unsafe extern "C" {
    /// Starts a scene:
    /// 0 calm.
    pub safe fn scene_start(scene: u8);

    /// Moves every channel on by one tick of 5 ms and puts out its light.
    pub safe fn light_tick();

    #[link_name = "overflows"]
    static mut OVERFLOWS: u8;
}

/// The overflows of the PWM timer, which the interrupt counts.
pub fn overflows() -> u8 {
    // SAFETY: a single byte.
    unsafe { (&raw const OVERFLOWS).read_volatile() }
}
