//! From a level to a duty.

/// How long an output is on: in the high byte whole counts of an 8-bit timer, in the low byte the
/// fraction of a count, of which the upper 4 bits are used. 0 is dark.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
#[repr(transparent)]
pub struct Duty(pub u16);

impl Duty {
    /// As long as an output can be on.
    pub const FULL: Self = Self(0xFF00);

    /// The nearest duty of a timer whose full duty is `max`. One of 12 bits shows every level.
    pub fn of(self, max: u16) -> u16 {
        let full = u32::from(Self::FULL.0);
        ((u32::from(self.0) * u32::from(max) + full / 2) / full) as u16
    }
}

/// `a · x / 256`, rounded down.
#[cfg_attr(target_arch = "avr", inline(never))]
fn share(a: u16, x: u8) -> u16 {
    let [low, high] = a.to_le_bytes();
    let x = u16::from(x);
    u16::from(high) * x + ((u16::from(low) * x) >> 8)
}

/// The on-time of a level, before it is trimmed and cut to its depth, in 1/256 of a count.
///
/// on-time = 48354 x^3 + 11798 x^2 + 5805 x + 14, x = level / 256
fn on_time(level: u8) -> u16 {
    let x = level;
    let mut y: u16 = 48354;
    y = share(y, x) + 11798;
    y = share(y, x) + 5805;
    y = share(y, x) + 14;
    y
}

/// What is put out for a level.
pub(crate) fn duty(level: u8) -> Duty {
    let on = on_time(level);
    Duty(on & 0xFFF0)
}
