//! Which instructions a part has, and how long they take.

use super::instruction::Instruction;
use super::timing::Timing;

/// The instructions of a family of parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct InstructionSet {
    pub timing: Timing,
    /// MUL and its kin.
    pub multiplies: bool,
    /// JMP and CALL.
    pub jumps_far: bool,
    /// ELPM.
    pub reads_far: bool,
    /// Data address of the I/O space: the working registers come before it on the older cores, and
    /// have no data address on the newer ones.
    pub io: u16,
}

impl InstructionSet {
    /// Everything there is, at the pace of the older cores.
    pub const AVRE: Self = Self {
        timing: Timing::AVRE,
        multiplies: true,
        jumps_far: true,
        reads_far: true,
        io: 0x20,
    };
    /// Everything there is, at the pace of the newer cores.
    pub const AVRXT: Self = Self {
        timing: Timing::AVRXT,
        io: 0,
        ..Self::AVRE
    };

    /// The set of an architecture as GNU numbers them (`__AVR_ARCH__`; GCC manual, 'AVR Options');
    /// `None` if this core is not for it.
    pub fn of_architecture(number: u32) -> Option<Self> {
        let older = |multiplies, jumps_far, reads_far| Self {
            multiplies,
            jumps_far,
            reads_far,
            ..Self::AVRE
        };
        match number {
            25 => Some(older(false, false, false)),
            35 => Some(older(false, true, false)),
            4 => Some(older(true, false, false)),
            5 => Some(older(true, true, false)),
            51 => Some(older(true, true, true)),
            103 => Some(Self {
                reads_far: false,
                ..Self::AVRXT
            }),
            _ => None,
        }
    }

    pub fn has(&self, instruction: Instruction) -> bool {
        use Instruction as I;
        match instruction {
            I::Multiply(..)
            | I::MultiplySigned(..)
            | I::MultiplySignedUnsigned(..)
            | I::MultiplyFraction(..)
            | I::MultiplyFractionSigned(..)
            | I::MultiplyFractionSignedUnsigned(..) => self.multiplies,
            I::JumpTo(_) | I::CallTo(_) => self.jumps_far,
            I::LoadFarProgram(_) | I::LoadFarProgramThenUp(_) => self.reads_far,
            _ => true,
        }
    }
}
