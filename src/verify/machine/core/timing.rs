//! Cycles of each kind of instruction (AVR Instruction Set Manual DS40002198A, section 4), for a
//! program counter of 16 bits. `tests/machine/avr-cycles.csv` holds every row of that table
//! against it.

use super::instruction::Instruction;

/// What takes other than one cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Timing {
    /// ADIW, SBIW.
    pub word: u8,
    /// MUL and its kin.
    pub multiply: u8,
    /// LD, LDD in all their forms.
    pub load: u8,
    pub load_direct: u8,
    /// ST, STD in all their forms.
    pub store: u8,
    pub store_direct: u8,
    pub push: u8,
    pub pop: u8,
    /// LPM, ELPM.
    pub load_program: u8,
    /// SBI, CBI.
    pub port_bit: u8,
    /// RJMP, IJMP, EIJMP.
    pub jump: u8,
    pub jump_to: u8,
    /// RCALL, ICALL.
    pub call: u8,
    pub call_to: u8,
    /// EICALL.
    pub call_far: u8,
    /// RET, RETI.
    pub give_back: u8,
    /// A branch that is taken. Not taken it has one cycle, and a skip one and the words it skips.
    pub branch: u8,
}

impl Timing {
    /// The cycles of an instruction; of a branch or a skip, those it has if it is not taken.
    pub fn of(&self, instruction: Instruction) -> u8 {
        use Instruction as I;
        match instruction {
            I::AddToWord(..) | I::SubtractFromWord(..) => self.word,
            I::Multiply(..)
            | I::MultiplySigned(..)
            | I::MultiplySignedUnsigned(..)
            | I::MultiplyFraction(..)
            | I::MultiplyFractionSigned(..)
            | I::MultiplyFractionSignedUnsigned(..) => self.multiply,
            I::Load(..) | I::LoadThenUp(..) | I::LoadAfterDown(..) => self.load,
            I::LoadDirect(..) => self.load_direct,
            I::Store(..) | I::StoreThenUp(..) | I::StoreAfterDown(..) => self.store,
            I::StoreDirect(..) => self.store_direct,
            I::Push(_) => self.push,
            I::Pop(_) => self.pop,
            I::LoadProgram(_)
            | I::LoadProgramThenUp(_)
            | I::LoadFarProgram(_)
            | I::LoadFarProgramThenUp(_) => self.load_program,
            I::SetPortBit(..) | I::ClearPortBit(..) => self.port_bit,
            I::JumpBy(_) | I::JumpToZ | I::JumpFar => self.jump,
            I::JumpTo(_) => self.jump_to,
            I::CallBy(_) | I::CallZ => self.call,
            I::CallTo(_) => self.call_to,
            I::CallFar => self.call_far,
            I::Return | I::ReturnFromInterrupt => self.give_back,
            _ => 1,
        }
    }

    /// The older cores: AVRe of most ATtiny parts, AVRe+ of ATmega parts.
    pub const AVRE: Self = Self {
        word: 2,
        multiply: 2,
        load: 2,
        load_direct: 2,
        store: 2,
        store_direct: 2,
        push: 2,
        pop: 2,
        load_program: 3,
        port_bit: 2,
        jump: 2,
        jump_to: 3,
        call: 3,
        call_to: 4,
        call_far: 4,
        give_back: 4,
        branch: 2,
    };

    /// The newer cores: tinyAVR 0, 1 and 2, megaAVR 0, AVR Dx.
    pub const AVRXT: Self = Self {
        load_direct: 3,
        store: 1,
        push: 1,
        port_bit: 1,
        call: 2,
        call_to: 3,
        call_far: 3,
        ..Self::AVRE
    };
}
