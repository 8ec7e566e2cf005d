//! Where the reference is known to be wrong, or the two differ on purpose.
//!
//! In whole firmwares only its core is used (`lockstep`), because of what is around it: its timers have no
//! compare values that wait for BOTTOM, its interrupts take no cycles out of sleep, its EEPROM is
//! written in no time, and reading or starting to write it halts nothing. SLEEP stops its core until
//! an interrupt; here the machine says when.

use crate::state::{Case, GEOMETRY};
use crate::verify::machine::core::{Instruction, Pointer, Reg};

const PAST: &str = "LPM, ELPM past the flash: it reads its host's memory there";
const ONTO: &str = "an access of the pointer's own place in memory: it moves the pointer later";
/// Data address of the address bits above Z.
pub const RAMPZ: usize = 0x5B;

/// Why a case cannot be compared.
pub fn known(instruction: Instruction, case: &Case) -> Option<&'static str> {
    use Instruction as I;
    let in_pointer =
        |reg: Reg, pointer: Pointer| reg == pointer.low() || reg == pointer.low().high();
    let z = u32::from_le_bytes([case.state.registers[30], case.state.registers[31], 0, 0]);
    let far = u32::from(case.state.memory[RAMPZ - 0x20]) << 16;
    let onto = |pointer: Pointer, by: i16| {
        let low = case.state.registers[pointer as usize];
        let high = case.state.registers[pointer as usize + 1];
        let to = u16::from_le_bytes([low, high]).wrapping_add_signed(by);
        to == pointer as u16 || to == pointer as u16 + 1
    };
    match instruction {
        I::StoreProgram => Some("SPM: it does nothing there; here it is refused"),
        I::JumpFar | I::CallFar => {
            Some("EIJMP, EICALL: for program counters of 22 bits, which this core has not")
        }
        I::LoadThenUp(reg, pointer)
        | I::LoadAfterDown(reg, pointer)
        | I::StoreThenUp(reg, pointer)
        | I::StoreAfterDown(reg, pointer)
            if in_pointer(reg, pointer) =>
        {
            Some("a pointer loaded or stored through itself: the manual calls it undefined")
        }
        I::LoadProgramThenUp(reg) | I::LoadFarProgramThenUp(reg) if in_pointer(reg, Pointer::Z) => {
            Some("LPM to its own pointer: the manual calls it undefined")
        }
        I::LoadProgram(_) | I::LoadProgramThenUp(_) if z > GEOMETRY.flash_end => Some(PAST),
        I::LoadFarProgram(_) | I::LoadFarProgramThenUp(_) if far + z > GEOMETRY.flash_end => {
            Some(PAST)
        }
        I::Unknown if case.opcode & 0xFE0C == 0x940C => {
            Some("JMP, CALL past 64 K words: refused here at once, there at the next instruction")
        }
        I::Unknown if case.opcode & 0xF808 == 0xF808 => {
            Some("BLD, BST, SBRC, SBRS with bit 3 set: reserved, and it ignores the bit")
        }
        I::Store(_, pointer, by) if onto(pointer, by.into()) => Some(ONTO),
        I::StoreThenUp(_, pointer) | I::LoadThenUp(_, pointer) if onto(pointer, 0) => Some(ONTO),
        I::StoreAfterDown(_, pointer) | I::LoadAfterDown(_, pointer) if onto(pointer, -1) => {
            Some(ONTO)
        }
        _ => None,
    }
}
