//! A processor's state before and after an instruction.

use rand::Rng;
use rand::rngs::StdRng;

use crate::faults::RAMPZ;
use crate::verify::machine::core::Geometry;

/// A part with 256 words of flash and 256 bytes of RAM.
pub const GEOMETRY: Geometry = Geometry {
    flash_end: 0x1FF,
    ram_start: 0x100,
    ram_end: 0x1FF,
    eeprom_size: 0,
};

/// Where the stack pointer and the status are in the data space.
pub const OWN: [u16; 3] = [0x5D, 0x5E, 0x5F];

#[derive(Debug, Clone, PartialEq, Eq)]
pub struct State {
    pub registers: [u8; 32],
    /// From 0x20 on.
    pub memory: Vec<u8>,
    pub stack: u16,
    pub status: u8,
    /// In bytes.
    pub pc: u32,
    pub cycles: u64,
}

/// An instruction on a state.
pub struct Case {
    pub opcode: u16,
    /// The word after it.
    pub operand: u16,
    /// The two words after that one, for skips.
    pub after: [u16; 2],
    pub state: State,
}

impl Case {
    pub fn random(opcode: u16, random: &mut StdRng) -> Self {
        let mut registers: [u8; 32] = random.random();
        // Pointers into memory mostly, at times anywhere.
        for low in [26, 28, 30] {
            if random.random_ratio(15, 16) {
                registers[low + 1] = random.random_range(0..2);
            }
        }
        let stack = match random.random_ratio(15, 16) {
            true => random.random_range(0x110..0x1F0),
            false => random.random(),
        };
        let status: u8 = random.random();
        let mut memory: Vec<u8> = (0x20..=GEOMETRY.ram_end).map(|_| random.random()).collect();
        for (address, value) in OWN
            .into_iter()
            .zip([stack as u8, (stack >> 8) as u8, status])
        {
            memory[usize::from(address) - 0x20] = value;
        }
        if random.random_ratio(3, 4) {
            memory[RAMPZ - 0x20] = 0;
        }
        // As operand an address in memory or in flash mostly; for skips every kind of word, two-word
        // instructions among them.
        let operand = match random.random_range(0..8) {
            0 => random.random(),
            1 => 0x9000 | random.random::<u16>() & 0x03F0,
            2 => 0x940C | random.random::<u16>() & 3,
            _ => random.random_range(0..0x200),
        };
        Self {
            opcode,
            operand,
            after: random.random(),
            state: State {
                registers,
                memory,
                stack,
                status,
                pc: 2 * random.random_range(0x60..0xA0),
                cycles: 0,
            },
        }
    }

    /// The flash: the instruction at its place, and a pattern for what reads the rest.
    pub fn flash(&self) -> Vec<u8> {
        let mut flash: Vec<u8> = (0..=GEOMETRY.flash_end)
            .map(|at| ((at * 37) >> 3) as u8)
            .collect();
        let words = [self.opcode, self.operand, self.after[0], self.after[1]];
        let bytes = words.into_iter().flat_map(u16::to_le_bytes);
        for (place, byte) in flash[self.state.pc as usize..].iter_mut().zip(bytes) {
            *place = byte;
        }
        flash
    }
}

/// Prints what two results have apart.
pub fn difference(before: &State, ours: Option<&State>, theirs: Option<&State>) {
    let (Some(ours), Some(theirs)) = (ours, theirs) else {
        println!(
            "  ours refused: {}, theirs refused: {}",
            ours.is_none(),
            theirs.is_none()
        );
        return;
    };
    let registers = before
        .registers
        .iter()
        .zip(ours.registers.iter().zip(&theirs.registers));
    for (number, (before, (ours, theirs))) in
        registers.enumerate().filter(|(_, (_, (a, b)))| a != b)
    {
        println!("  r{number} was {before:#04x}: ours {ours:#04x}, theirs {theirs:#04x}");
    }
    let memory = ours.memory.iter().zip(&theirs.memory).enumerate();
    for (place, (ours, theirs)) in memory.filter(|(_, (a, b))| a != b) {
        println!(
            "  {:#06x}: ours {ours:#04x}, theirs {theirs:#04x}",
            place + 0x20
        );
    }
    println!("  stack {:#06x} {:#06x}", ours.stack, theirs.stack);
    println!(
        "  status was {:08b}: ours {:08b}, theirs {:08b}",
        before.status, ours.status, theirs.status
    );
    println!(
        "  pc was {:#06x}: ours {:#06x}, theirs {:#06x}",
        before.pc, ours.pc, theirs.pc
    );
    println!("  cycles {} {}", ours.cycles, theirs.cycles);
}
