//! The instructions of an AVR, with their operands taken apart. Mnemonics that are another
//! instruction's encoding (LSL is ADD, SBR is ORI, BRNE is BRBC) have no place of their own.

/// A working register, r0 to r31.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reg(pub u8);

impl Reg {
    /// The register above, the high byte of a pair.
    pub fn high(self) -> Self {
        Self(self.0 + 1)
    }
}

/// The pairs that point into memory, by their low register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pointer {
    X = 26,
    Y = 28,
    Z = 30,
}

impl Pointer {
    pub fn low(self) -> Reg {
        Reg(self as u8)
    }
}

/// A register of the I/O space as IN and OUT number it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Port(pub u8);

/// A bit's place in a byte, 0 to 7.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bit(pub u8);

impl Bit {
    pub fn mask(self) -> u8 {
        1 << self.0
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Instruction {
    Nop,
    // Register with register.
    Add(Reg, Reg),
    AddWithCarry(Reg, Reg),
    Subtract(Reg, Reg),
    SubtractWithCarry(Reg, Reg),
    Compare(Reg, Reg),
    CompareWithCarry(Reg, Reg),
    And(Reg, Reg),
    Or(Reg, Reg),
    ExclusiveOr(Reg, Reg),
    Move(Reg, Reg),
    MoveWord(Reg, Reg),
    // Register with constant.
    SubtractConstant(Reg, u8),
    SubtractConstantWithCarry(Reg, u8),
    CompareConstant(Reg, u8),
    AndConstant(Reg, u8),
    OrConstant(Reg, u8),
    LoadConstant(Reg, u8),
    AddToWord(Reg, u8),
    SubtractFromWord(Reg, u8),
    // One register.
    Complement(Reg),
    Negate(Reg),
    Swap(Reg),
    Increment(Reg),
    Decrement(Reg),
    ShiftRight(Reg),
    ShiftRightSigned(Reg),
    RotateRight(Reg),
    // Products, in r1:r0.
    Multiply(Reg, Reg),
    MultiplySigned(Reg, Reg),
    MultiplySignedUnsigned(Reg, Reg),
    MultiplyFraction(Reg, Reg),
    MultiplyFractionSigned(Reg, Reg),
    MultiplyFractionSignedUnsigned(Reg, Reg),
    // Flags.
    SetFlag(Bit),
    ClearFlag(Bit),
    StoreBit(Reg, Bit),
    LoadBit(Reg, Bit),
    // Memory.
    Load(Reg, Pointer, u8),
    LoadThenUp(Reg, Pointer),
    LoadAfterDown(Reg, Pointer),
    LoadDirect(Reg, u16),
    Store(Reg, Pointer, u8),
    StoreThenUp(Reg, Pointer),
    StoreAfterDown(Reg, Pointer),
    StoreDirect(Reg, u16),
    Push(Reg),
    Pop(Reg),
    LoadProgram(Reg),
    LoadProgramThenUp(Reg),
    /// ELPM: RAMPZ has the bits of the address above Z.
    LoadFarProgram(Reg),
    LoadFarProgramThenUp(Reg),
    StoreProgram,
    // Ports.
    In(Reg, Port),
    Out(Port, Reg),
    SetPortBit(Port, Bit),
    ClearPortBit(Port, Bit),
    // Where to go on: distances and targets in words.
    BranchIfSet(Bit, i8),
    BranchIfClear(Bit, i8),
    SkipIfEqual(Reg, Reg),
    SkipIfClear(Reg, Bit),
    SkipIfSet(Reg, Bit),
    SkipIfPortBitClear(Port, Bit),
    SkipIfPortBitSet(Port, Bit),
    JumpBy(i16),
    JumpTo(u16),
    JumpToZ,
    /// EIJMP and EICALL exist on parts with more than 64 K words of flash alone.
    JumpFar,
    CallBy(i16),
    CallTo(u16),
    CallZ,
    CallFar,
    Return,
    ReturnFromInterrupt,
    // The processor itself.
    Sleep,
    FeedWatchdog,
    Break,
    /// No instruction of this part.
    Unknown,
}
