//! From the words of the flash to instructions (AVR Instruction Set Manual DS40002198, 'Opcode' of
//! each instruction). Done once, when a firmware is loaded.

use super::Effect;
use super::instruction::{Bit, Instruction, Pointer, Port, Reg};
use super::set::InstructionSet;

/// An instruction and the words it takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Decoded {
    pub instruction: Instruction,
    pub words: u8,
    /// What it takes; of a branch or a skip, if it is not taken.
    pub cycles: u8,
    /// What it does beyond registers and memory, once it is done.
    pub effect: Effect,
}

/// The instruction that begins with `word`, followed by `next`.
pub fn decode(word: u16, next: u16, set: &InstructionSet) -> Decoded {
    let instruction = match instruction(word, next) {
        known if set.has(known) => known,
        _ => Instruction::Unknown,
    };
    let words = if takes_two_words(word) { 2 } else { 1 };
    let effect = match instruction {
        Instruction::ReturnFromInterrupt => Effect::ReturnedFromInterrupt,
        Instruction::FeedWatchdog => Effect::FedWatchdog,
        Instruction::Sleep => Effect::Sleeps,
        _ => Effect::None,
    };
    Decoded {
        instruction,
        words,
        cycles: set.timing.of(instruction),
        effect,
    }
}

/// LDS, STS, JMP and CALL.
fn takes_two_words(word: u16) -> bool {
    word & 0xFC0F == 0x9000 || word & 0xFE0C == 0x940C
}

fn instruction(word: u16, next: u16) -> Instruction {
    use Instruction as I;
    match word >> 12 {
        0x0..=0x2 => of_two_registers(word),
        0x3 => I::CompareConstant(upper(word), constant(word)),
        0x4 => I::SubtractConstantWithCarry(upper(word), constant(word)),
        0x5 => I::SubtractConstant(upper(word), constant(word)),
        0x6 => I::OrConstant(upper(word), constant(word)),
        0x7 => I::AndConstant(upper(word), constant(word)),
        0x8 | 0xA => with_displacement(word),
        0x9 => of_the_ninth(word, next),
        0xB if word & 0x0800 == 0 => I::In(first(word), port(word)),
        0xB => I::Out(port(word), first(word)),
        0xC => I::JumpBy(distance(word)),
        0xD => I::CallBy(distance(word)),
        0xE => I::LoadConstant(upper(word), constant(word)),
        _ => of_the_last(word),
    }
}

fn of_two_registers(word: u16) -> Instruction {
    use Instruction as I;
    let (d, r) = (first(word), second(word));
    match word >> 10 {
        0x00 => of_pairs_and_products(word),
        0x01 => I::CompareWithCarry(d, r),
        0x02 => I::SubtractWithCarry(d, r),
        0x03 => I::Add(d, r),
        0x04 => I::SkipIfEqual(d, r),
        0x05 => I::Compare(d, r),
        0x06 => I::Subtract(d, r),
        0x07 => I::AddWithCarry(d, r),
        0x08 => I::And(d, r),
        0x09 => I::ExclusiveOr(d, r),
        0x0A => I::Or(d, r),
        _ => I::Move(d, r),
    }
}

fn of_pairs_and_products(word: u16) -> Instruction {
    use Instruction as I;
    let low = Reg(word as u8 & 0x0F);
    let (d, r) = (Reg(16 + (word >> 4 & 7) as u8), Reg(16 + (word & 7) as u8));
    match (word >> 8, word & 0x88) {
        (1, _) => I::MoveWord(Reg((word >> 3) as u8 & 0x1E), Reg(2 * low.0)),
        (2, _) => I::MultiplySigned(upper(word), Reg(16 + low.0)),
        (3, 0x00) => I::MultiplySignedUnsigned(d, r),
        (3, 0x08) => I::MultiplyFraction(d, r),
        (3, 0x80) => I::MultiplyFractionSigned(d, r),
        (3, _) => I::MultiplyFractionSignedUnsigned(d, r),
        _ if word == 0 => I::Nop,
        _ => I::Unknown,
    }
}

/// LDD and STD; with a displacement of 0 they are LD and ST.
fn with_displacement(word: u16) -> Instruction {
    let displacement = (word >> 8 & 0x20 | word >> 7 & 0x18 | word & 7) as u8;
    let pointer = match word & 8 {
        0 => Pointer::Z,
        _ => Pointer::Y,
    };
    match word & 0x0200 {
        0 => Instruction::Load(first(word), pointer, displacement),
        _ => Instruction::Store(first(word), pointer, displacement),
    }
}

fn of_the_ninth(word: u16, next: u16) -> Instruction {
    use Instruction as I;
    let pair = Reg(24 + (word >> 3 & 6) as u8);
    let in_pair = (word >> 2 & 0x30 | word & 0x0F) as u8;
    let (low_port, bit) = (Port((word >> 3 & 0x1F) as u8), low_bit(word));
    match word >> 8 & 0x0F {
        0x0 | 0x1 => load(word, next),
        0x2 | 0x3 => store(word, next),
        0x4 | 0x5 => of_one_register(word, next),
        0x6 => I::AddToWord(pair, in_pair),
        0x7 => I::SubtractFromWord(pair, in_pair),
        0x8 => I::ClearPortBit(low_port, bit),
        0x9 => I::SkipIfPortBitClear(low_port, bit),
        0xA => I::SetPortBit(low_port, bit),
        0xB => I::SkipIfPortBitSet(low_port, bit),
        _ => I::Multiply(first(word), second(word)),
    }
}

fn load(word: u16, next: u16) -> Instruction {
    use Instruction as I;
    let d = first(word);
    match word & 0x0F {
        0x0 => I::LoadDirect(d, next),
        0x1 => I::LoadThenUp(d, Pointer::Z),
        0x2 => I::LoadAfterDown(d, Pointer::Z),
        0x4 => I::LoadProgram(d),
        0x5 => I::LoadProgramThenUp(d),
        0x6 => I::LoadFarProgram(d),
        0x7 => I::LoadFarProgramThenUp(d),
        0x9 => I::LoadThenUp(d, Pointer::Y),
        0xA => I::LoadAfterDown(d, Pointer::Y),
        0xC => I::Load(d, Pointer::X, 0),
        0xD => I::LoadThenUp(d, Pointer::X),
        0xE => I::LoadAfterDown(d, Pointer::X),
        0xF => I::Pop(d),
        _ => I::Unknown,
    }
}

fn store(word: u16, next: u16) -> Instruction {
    use Instruction as I;
    let r = first(word);
    match word & 0x0F {
        0x0 => I::StoreDirect(r, next),
        0x1 => I::StoreThenUp(r, Pointer::Z),
        0x2 => I::StoreAfterDown(r, Pointer::Z),
        0x9 => I::StoreThenUp(r, Pointer::Y),
        0xA => I::StoreAfterDown(r, Pointer::Y),
        0xC => I::Store(r, Pointer::X, 0),
        0xD => I::StoreThenUp(r, Pointer::X),
        0xE => I::StoreAfterDown(r, Pointer::X),
        0xF => I::Push(r),
        _ => I::Unknown,
    }
}

fn of_one_register(word: u16, next: u16) -> Instruction {
    use Instruction as I;
    let d = first(word);
    match word & 0x0F {
        0x0 => I::Complement(d),
        0x1 => I::Negate(d),
        0x2 => I::Swap(d),
        0x3 => I::Increment(d),
        0x5 => I::ShiftRightSigned(d),
        0x6 => I::ShiftRight(d),
        0x7 => I::RotateRight(d),
        0xA => I::Decrement(d),
        0xC..=0xF => far_target(word, next),
        _ => of_no_register(word),
    }
}

/// JMP and CALL. Their targets have 22 bits; a program counter of 16 reaches no further.
fn far_target(word: u16, next: u16) -> Instruction {
    match word & 0x01F1 {
        0 if word & 2 == 0 => Instruction::JumpTo(next),
        0 => Instruction::CallTo(next),
        _ => Instruction::Unknown,
    }
}

fn of_no_register(word: u16) -> Instruction {
    use Instruction as I;
    match word {
        0x9409 => I::JumpToZ,
        0x9419 => I::JumpFar,
        0x9508 => I::Return,
        0x9509 => I::CallZ,
        0x9518 => I::ReturnFromInterrupt,
        0x9519 => I::CallFar,
        0x9588 => I::Sleep,
        0x9598 => I::Break,
        0x95A8 => I::FeedWatchdog,
        0x95C8 => I::LoadProgram(Reg(0)),
        0x95D8 => I::LoadFarProgram(Reg(0)),
        0x95E8 | 0x95F8 => I::StoreProgram,
        _ if word & 0xFF8F == 0x9408 => I::SetFlag(middle_bit(word)),
        _ if word & 0xFF8F == 0x9488 => I::ClearFlag(middle_bit(word)),
        _ => I::Unknown,
    }
}

/// Branches, and single bits of registers.
fn of_the_last(word: u16) -> Instruction {
    use Instruction as I;
    let (d, bit) = (first(word), low_bit(word));
    let branch = ((word << 6) as i16 >> 9) as i8;
    match (word >> 9 & 7, word & 8) {
        (0 | 1, _) => I::BranchIfSet(bit, branch),
        (2 | 3, _) => I::BranchIfClear(bit, branch),
        (_, 8) => I::Unknown,
        (4, _) => I::LoadBit(d, bit),
        (5, _) => I::StoreBit(d, bit),
        (6, _) => I::SkipIfClear(d, bit),
        _ => I::SkipIfSet(d, bit),
    }
}

/// `---- ---d dddd ----`
fn first(word: u16) -> Reg {
    Reg((word >> 4 & 0x1F) as u8)
}

/// `---- --r- ---- rrrr`
fn second(word: u16) -> Reg {
    Reg((word >> 5 & 0x10 | word & 0x0F) as u8)
}

/// `---- ---- dddd ----`: r16 to r31.
fn upper(word: u16) -> Reg {
    Reg(16 + (word >> 4 & 0x0F) as u8)
}

/// `---- kkkk ---- kkkk`
fn constant(word: u16) -> u8 {
    (word >> 4 & 0xF0 | word & 0x0F) as u8
}

/// `---- -aa- ---- aaaa`
fn port(word: u16) -> Port {
    Port((word >> 5 & 0x30 | word & 0x0F) as u8)
}

/// `---- ---- ---- -bbb`
fn low_bit(word: u16) -> Bit {
    Bit((word & 7) as u8)
}

/// `---- ---- -bbb ----`
fn middle_bit(word: u16) -> Bit {
    Bit((word >> 4 & 7) as u8)
}

/// `---- kkkk kkkk kkkk`, signed.
fn distance(word: u16) -> i16 {
    (word << 4) as i16 >> 4
}
