//! The instruction core: registers, memories and the program counter of an AVR. Instructions are
//! decoded once, when a firmware is loaded; each register access of the firmware goes to a [`Bus`],
//! which models the part's peripherals. The core's cycle counter is the machine's clock:
//! instructions move it, and the machine adds what an instruction does not know about.
//!
//! Not for other parts of a program: this is open so that it can be compared, instruction by
//! instruction, with somebody else's (`tests/reference`).

mod calculate;
mod decode;
mod execute;
mod flags;
mod instruction;
mod set;
mod space;
#[cfg(test)]
mod tests;
mod timing;
mod transfer;

pub use self::decode::{Decoded, decode};
pub use self::flags::Status;
pub use self::instruction::{Bit, Instruction, Pointer, Port, Reg};
pub use self::set::InstructionSet;
pub use self::timing::Timing;
use super::moment::Moment;

/// What the firmware's register accesses reach.
pub trait Bus {
    /// The firmware reads a watched register; `at` is the cycle in which the value is taken.
    fn read(&mut self, register: u16, at: Moment) -> u8;
    /// The firmware writes a watched register; `at` is when the write has taken effect.
    fn write(&mut self, register: u16, value: u8, at: Moment);
    /// SBI or CBI on a watched register.
    fn write_bit(&mut self, register: u16, bit: u8, set: bool, at: Moment);
    /// Before this moment, nothing need come between one instruction and the next.
    fn attention(&self) -> Moment {
        Moment::NEVER
    }
}

/// Sizes of the part's memories.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Geometry {
    /// Last byte of flash. The size is a power of two, of at most 64 K words.
    pub flash_end: u32,
    /// First byte of RAM, after the registers.
    pub ram_start: u16,
    /// Last byte of RAM.
    pub ram_end: u16,
    /// Bytes of EEPROM.
    pub eeprom_size: u16,
}

/// What an instruction does beyond registers and memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    None,
    ReturnedFromInterrupt,
    FedWatchdog,
    Sleeps,
    /// It cannot be done: an unknown opcode, an address outside memory, the end of the flash.
    Failed,
}

/// One processor with its memories, and the peripherals `B` that its registers reach.
pub struct Core<B: Bus> {
    registers: [u8; 32],
    status: Status,
    /// In words.
    pc: u16,
    stack: u16,
    /// The lowest value that the stack pointer had.
    pub lowest_stack: u16,
    /// Instructions executed.
    pub executed: u64,
    /// When an instruction last ended that allowed interrupts.
    allowed: Option<Moment>,
    cycle: Moment,
    set: InstructionSet,
    bus: B,
    /// By data address up to the RAM: whether the bus answers.
    watched: Box<[bool]>,
    data: Box<[u8]>,
    code: Box<[Decoded]>,
    flash: Box<[u8]>,
    geometry: Geometry,
}

impl<B: Bus> Core<B> {
    /// A processor with erased flash and zeroed memory.
    pub fn new(geometry: Geometry, set: InstructionSet, bus: B) -> Self {
        let mut core = Self {
            registers: [0; 32],
            status: Status::default(),
            pc: 0,
            stack: 0,
            lowest_stack: u16::MAX,
            executed: 0,
            allowed: None,
            cycle: Moment(0),
            set,
            bus,
            watched: vec![false; geometry.ram_start.into()].into(),
            data: vec![0; usize::from(geometry.ram_end) + 1].into(),
            code: Box::default(),
            flash: vec![0; geometry.flash_end as usize + 1].into(),
            geometry,
        };
        core.program(&[]);
        core
    }

    /// Sends accesses to `register` to the bus instead of to memory.
    pub fn watch(&mut self, register: u16) {
        self.watched[usize::from(register)] = true;
    }

    /// Erases the flash and programs `image` from address 0.
    ///
    /// # Panics
    /// If the image is larger than the flash.
    pub fn program(&mut self, image: &[u8]) {
        self.flash.fill(0xFF);
        self.flash[..image.len()].copy_from_slice(image);
        let words: Vec<u16> = self
            .flash
            .chunks_exact(2)
            .map(|bytes| u16::from_le_bytes([bytes[0], bytes[1]]))
            .collect();
        let after = words.iter().skip(1).chain(words.first());
        self.code = words
            .iter()
            .zip(after)
            .map(|(word, next)| decode(*word, *next, &self.set))
            .collect();
    }

    /// Registers and program counter as any reset leaves them; working registers and RAM stay.
    pub fn reset(&mut self) {
        self.data[..usize::from(self.geometry.ram_start)].fill(0);
        self.status = Status::default();
        self.stack = self.geometry.ram_end;
        self.pc = 0;
    }

    /// The word of the flash at a byte address, 0xFFFF past its end.
    pub fn word(&self, address: u32) -> u16 {
        let at = address as usize;
        self.flash
            .get(at..at + 2)
            .map_or(0xFFFF, |bytes| u16::from_le_bytes([bytes[0], bytes[1]]))
    }

    /// Byte address of the next instruction.
    #[inline]
    pub fn pc(&self) -> u32 {
        u32::from(self.pc) * 2
    }

    pub fn set_pc(&mut self, address: u32) {
        self.pc = (address / 2) as u16;
    }

    #[inline]
    pub fn now(&self) -> Moment {
        self.cycle
    }

    /// Moves the clock without executing anything.
    #[inline]
    pub fn set_now(&mut self, moment: Moment) {
        self.cycle = moment;
    }

    #[inline]
    pub fn interrupts_enabled(&self) -> bool {
        self.status.interrupts()
    }

    /// Whether the instruction that ends now allowed interrupts: another one comes before them.
    pub fn just_allowed_interrupts(&self) -> bool {
        self.allowed == Some(self.cycle)
    }

    #[inline]
    pub fn disable_interrupts(&mut self) {
        self.status.allow_interrupts(false);
    }

    pub fn status(&self) -> u8 {
        self.status.0
    }

    pub fn set_status(&mut self, status: u8) {
        self.status = Status(status);
    }

    #[inline]
    pub fn stack_pointer(&self) -> u16 {
        self.stack
    }

    pub fn set_stack_pointer(&mut self, address: u16) {
        self.stack = address;
    }

    /// The byte at a data address: a working register, an unwatched register, or RAM.
    ///
    /// # Panics
    /// If the address is outside the part's data space.
    pub fn memory(&self, address: u16) -> u8 {
        self.plain(address)
            .unwrap_or_else(|_| panic!("data address {address:#06x} is past the RAM"))
    }

    /// See [`memory`](Self::memory).
    pub fn set_memory(&mut self, address: u16, value: u8) {
        self.set_plain(address, value)
            .unwrap_or_else(|_| panic!("data address {address:#06x} is past the RAM"));
    }

    pub fn register(&self, reg: Reg) -> u8 {
        self.reg(reg)
    }

    pub fn set_register(&mut self, reg: Reg, value: u8) {
        self.set_reg(reg, value);
    }

    /// Pushes the program counter and goes to `vector`, a byte address. A stack that has left the
    /// memory loses the address.
    pub fn interrupt(&mut self, vector: u32) {
        for byte in self.pc.to_le_bytes() {
            let _lost = self.set_plain(self.stack, byte);
            self.stack = self.stack.wrapping_sub(1);
        }
        self.lowest_stack = self.lowest_stack.min(self.stack);
        self.disable_interrupts();
        self.set_pc(vector);
    }

    #[inline]
    pub fn bus(&self) -> &B {
        &self.bus
    }

    #[inline]
    pub fn bus_mut(&mut self) -> &mut B {
        &mut self.bus
    }
}
