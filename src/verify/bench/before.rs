//! What was before the firmware starts: no power, another run of it, or a boot loader.

use crate::verify::machine::{Machine, ResetCause};

/// What went before.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Before {
    /// The chip had no power for long.
    #[default]
    NoPower,
    /// The firmware ran until this struck.
    Run(ResetCause),
    /// A boot loader ran, and jumped to the firmware without a reset.
    BootLoader,
}

/// For how long a firmware runs until a reset.
const SECONDS: f64 = 0.25;

/// What a boot loader may leave in the registers of timers and watchdog: modes, counts and clocks of its
/// own, interrupts on, a watchdog of a second. The first timer stands at a count from which it would come
/// round just when the second one takes over what the interrupt writes. Interrupts as a whole are off at the
/// jump, as those of any program that hands over.
const LEFT: [(&str, u8); 22] = [
    ("TCCR0A", 0x42),
    ("TCCR0B", 0x00),
    ("TCNT0", 0x12),
    ("OCR0A", 0x35),
    ("OCR0B", 0x0C),
    ("TCCR1A", 0x50),
    ("TCCR1B", 0x0C),
    ("TCCR1", 0x07),
    ("OCR1C", 0x80),
    ("TCCR2A", 0x42),
    ("TCCR2B", 0x07),
    ("TCNT2", 0x21),
    ("TCCR3B", 0x0D),
    ("TIMSK", 0xFF),
    ("TIMSK0", 0xFF),
    ("TIMSK1", 0xFF),
    ("TIMSK2", 0xFF),
    ("TIMSK3", 0xFF),
    ("WDTCR", 0x18),
    ("WDTCR", 0x0E),
    ("WDTCSR", 0x18),
    ("WDTCSR", 0x0E),
];

/// The same in registers of 16 bits, whose timers are known by one for captures; the last high byte stays
/// where all are written through.
const LEFT_WIDE: [(&str, &str, u16); 4] = [
    ("ICR1", "TCNT1", 0x1234),
    ("ICR1", "OCR1A", 0x0180),
    ("ICR3", "TCNT3", 0x7701),
    ("ICR1", "OCR1B", 0x5A7E),
];

impl Before {
    /// Whether the firmware takes it for its power.
    pub(super) fn is_power(self) -> bool {
        !matches!(self, Self::Run(ResetCause::Watchdog))
    }

    /// Takes a chip that was just switched on to the moment at which the firmware starts.
    pub(super) fn happen(self, machine: &mut Machine) {
        match self {
            Self::NoPower => {}
            Self::Run(cause) => {
                let cycles = (SECONDS * machine.clock().0) as u64;
                // Where that fails, it does so without a reset as well, and is told there.
                let _ = machine.run_for(cycles);
                machine.reset(cause);
            }
            Self::BootLoader => {
                for (capture, register, value) in LEFT_WIDE {
                    let address = machine.address_of(register);
                    if let Some(low) = address.filter(|_| machine.address_of(capture).is_some()) {
                        let [high_byte, low_byte] = value.to_be_bytes();
                        machine.write_register(low + 1, high_byte);
                        machine.write_register(low, low_byte);
                    }
                }
                for (register, value) in LEFT {
                    if let Some(address) = machine.address_of(register) {
                        machine.write_register(address, value);
                    }
                }
            }
        }
    }
}
