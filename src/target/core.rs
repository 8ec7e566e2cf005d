//! The registers of the processor itself, which all families have in one place.

use serde::Serialize;

/// Their names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct CoreRegisters {
    /// The flags.
    pub status: &'static str,
    /// The stack pointer, low byte first.
    pub stack: [&'static str; 2],
}

/// AVR instruction set manual (DS40002198), 'Registers'.
pub const CORE: CoreRegisters = CoreRegisters {
    status: "SREG",
    stack: ["SPL", "SPH"],
};
