//! A simulated chip that runs a firmware as the datasheets say the real one does.
//!
//! Only the instruction decoder is a third party's ([`core`]); timers, compare outputs, ports,
//! EEPROM, watchdog, interrupts and sleep are modelled here, each in a file of its own, because the
//! simulator's are known to be wrong. What that leaves out of account:
//!
//! - times: 4 cycles to enter an interrupt and 4 more out of idle sleep; a halt of 4 cycles for an
//!   EEPROM read and 2 for the start of a write; 3.4 ms for the write itself;
//! - one instruction between the setting of the I flag and the next interrupt;
//! - waveforms: compare values that take effect at BOTTOM or TOP, every compare output and waveform
//!   mode, the direction of each pin, several timers with their own starts;
//! - sleep: SE and the mode respected, time skipped to the next event;
//! - resets: the clock goes on through a watchdog reset and the reset delay.
//!
//! What the firmware does that is not modelled shows up as a [`Fault`] or a [`Doubt`].

mod core;
mod counter;
mod devices;
mod doubt;
mod eeprom;
mod external;
mod meters;
mod moment;
mod part;
mod pin;
mod pins;
mod prescaler;
mod timer;
mod watchdog;

use std::fmt;
use std::path::Path;

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

pub use self::core::Geometry;
pub use self::devices::RegisterWrite;
pub use self::doubt::{Doubt, Doubted};
pub use self::eeprom::{Programming, Torn};
pub use self::meters::{InterruptMeter, Meters};
pub use self::moment::Moment;
pub use self::part::{Part, PartError};
pub use self::pin::{NotAPin, Pin};
pub use self::pins::{Edge, Level, Period, Watch};

use self::core::Core;
use self::devices::{Devices, Outcome, Request};
use super::{Firmware, FirmwareError};
use crate::units::{Bytes, Hertz};

const RETI: u16 = 0x9518;
const SLEEP: u16 = 0x9588;
const WDR: u16 = 0x95A8;
/// OUT SPH, r0 without its register bits: half of a change of the stack pointer.
const OUT_SPH: u16 = 0xBE0E;
const OUT_MASK: u16 = 0xFE0F;

/// Datasheets, 'Interrupt Response Time'.
const RESPONSE: u64 = 4;
const RESPONSE_FROM_SLEEP: u64 = 8;
/// Clocks and time of the longest start-up delay, which is how parts are delivered (tables
/// 'Start-up Times', SUT = 10: 14 CK + 64 ms).
const START_UP_CLOCKS: u64 = 14;
const START_UP_SECONDS: f64 = 64e-3;

/// A chip with its firmware, at a moment of its run.
pub struct Machine {
    core: Core<Devices>,
    part: Part,
    clock: Hertz,
    firmware: Firmware,
    meters: Meters,
    resets: Vec<Reset>,
    /// Interrupts being served, outermost first.
    serving: Vec<Serving>,
    /// Since when it sleeps.
    asleep: Option<Moment>,
    /// One instruction runs before the next interrupt.
    shielded: bool,
}

#[derive(Debug, Clone, Copy)]
struct Serving {
    vector: u8,
    entered: Moment,
}

/// A restart of the firmware.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reset {
    /// When it struck; the firmware starts again after the start-up delay.
    pub at: Moment,
    pub cause: ResetCause,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ResetCause {
    PowerOn,
    Watchdog,
}

/// What the RAM and the working registers hold when power comes on: the datasheets promise nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerUpMemory {
    Zeros,
    /// Bytes drawn with this seed.
    Random(u64),
}

impl Machine {
    /// The chip `mcu` (as avr-gcc names it) at `clock`, programmed with the firmware of an ELF file
    /// and just powered up. Its RAM holds random bytes.
    pub fn load(elf: &Path, mcu: &str, clock: Hertz) -> Result<Self, LoadError> {
        let firmware = Firmware::read(elf).map_err(LoadError::Firmware)?;
        let part = Part::named(mcu).map_err(LoadError::Part)?;
        Self::new(firmware, part, clock)
    }

    /// As [`load`](Self::load), from what has been read before.
    pub fn new(firmware: Firmware, part: Part, clock: Hertz) -> Result<Self, LoadError> {
        if firmware.instruction_set != part.instruction_set {
            let (built_for, part) = (firmware.instruction_set, part.name);
            return Err(LoadError::OtherInstructionSet { built_for, part });
        }
        if firmware.flash.len() > part.geometry.flash_end as usize + 1 {
            return Err(LoadError::TooLarge {
                size: firmware.flash_use,
                part: part.name,
            });
        }
        let devices = Devices::of(&part, clock);
        let registers: Vec<u16> = devices.registers().collect();
        let mut core = Core::new(part.geometry, devices).ok_or(LoadError::NoSimulator)?;
        registers
            .into_iter()
            .for_each(|register| core.watch(register));
        core.program(&firmware.flash);
        let cells = core.bus_mut().eeprom.cells_mut();
        let wanted = firmware.eeprom.len().min(cells.len());
        cells[..wanted].copy_from_slice(&firmware.eeprom[..wanted]);
        let mut machine = Self {
            meters: Meters::new(Moment(0), part.geometry.ram_end),
            core,
            part,
            clock,
            firmware,
            resets: Vec::new(),
            serving: Vec::new(),
            asleep: None,
            shielded: false,
        };
        machine.power_up(PowerUpMemory::Random(0));
        Ok(machine)
    }

    /// Cuts the power and applies it again: RAM and registers are lost, the EEPROM keeps its
    /// contents, a byte being programmed becomes what `torn` says. The machine's clock goes on.
    pub fn cycle_power(&mut self, torn: Torn, memory: PowerUpMemory) {
        self.sync();
        self.core.bus_mut().eeprom.lose_power(torn);
        self.power_up(memory);
    }

    fn power_up(&mut self, memory: PowerUpMemory) {
        let Geometry {
            ram_start, ram_end, ..
        } = self.part.geometry;
        let mut noise = match memory {
            PowerUpMemory::Zeros => None,
            PowerUpMemory::Random(seed) => Some(StdRng::seed_from_u64(seed)),
        };
        for address in (0..32).chain(ram_start..=ram_end) {
            let value = noise.as_mut().map_or(0, |noise| noise.random());
            self.core.set_memory(address, value);
        }
        let now = self.core.now();
        self.core.bus_mut().power_up(now);
        self.restart(ResetCause::PowerOn);
        self.clear_meters();
    }

    /// The processor's own part of any reset.
    fn restart(&mut self, cause: ResetCause) {
        self.resets.push(Reset {
            at: self.core.now(),
            cause,
        });
        for register in 0x20..self.part.geometry.ram_start {
            self.core.set_memory(register, 0);
        }
        self.core.set_stack_pointer(self.part.geometry.ram_end);
        self.core.set_status(0);
        self.core.set_pc(0);
        self.serving.clear();
        (self.asleep, self.shielded) = (None, false);
    }

    fn reset_by_watchdog(&mut self) {
        let now = self.core.now();
        self.settle_sleep(now);
        self.core.bus_mut().reset(now, true);
        self.restart(ResetCause::Watchdog);
        let delay = START_UP_CLOCKS + (START_UP_SECONDS * self.clock.0).round() as u64;
        self.core.set_now(now + delay);
        // The watchdog does not run during the delay.
        self.core.bus_mut().feed_watchdog(now + delay);
    }

    /// Runs until `moment`, give or take the last instruction.
    pub fn run_until(&mut self, moment: Moment) -> Result<(), Fault> {
        self.run_while(moment, |_| true).map(|_| ())
    }

    pub fn run_for(&mut self, cycles: u64) -> Result<(), Fault> {
        self.run_until(self.now() + cycles)
    }

    /// Runs until the instruction at byte address `address` comes next, having executed at least
    /// one; false if `limit` came first.
    pub fn run_to(&mut self, address: u32, limit: Moment) -> Result<bool, Fault> {
        if self.now() >= limit {
            return Ok(false);
        }
        self.step(limit)?;
        self.run_while(limit, |machine| {
            machine.pc() != address || machine.is_asleep()
        })
    }

    /// Runs while `go_on` holds, looking at it before each instruction; false if `limit` came first.
    pub fn run_while(
        &mut self,
        limit: Moment,
        mut go_on: impl FnMut(&Self) -> bool,
    ) -> Result<bool, Fault> {
        while go_on(self) {
            if self.core.now() >= limit {
                return Ok(false);
            }
            self.step(limit)?;
        }
        Ok(true)
    }

    /// One instruction, one entry into an interrupt, or a sleep until the next event (but not
    /// beyond `limit`).
    pub fn step(&mut self, limit: Moment) -> Result<(), Fault> {
        let now = self.core.now();
        if now >= self.core.bus().next_event() {
            match self.core.bus_mut().advance(now) {
                Outcome::None => {}
                Outcome::Reset => {
                    self.reset_by_watchdog();
                    return Ok(());
                }
            }
        }
        let request = self
            .core
            .bus()
            .pending()
            .filter(|_| self.core.interrupts_enabled());
        if self.asleep.is_some() {
            match request {
                Some(request) => {
                    self.settle_sleep(now);
                    self.meters.waking += RESPONSE_FROM_SLEEP - RESPONSE;
                    self.core.set_now(now + (RESPONSE_FROM_SLEEP - RESPONSE));
                    self.enter(request, now);
                }
                None => self
                    .core
                    .set_now(self.core.bus().next_event().min(limit).max(now)),
            }
            return Ok(());
        }
        match request.filter(|_| !std::mem::take(&mut self.shielded)) {
            Some(request) => {
                self.enter(request, now);
                Ok(())
            }
            None => self.execute(),
        }
    }

    fn execute(&mut self) -> Result<(), Fault> {
        let enabled = self.core.interrupts_enabled();
        let pc = self.core.pc();
        let executed = self.core.step();
        if executed.failed {
            return Err(Fault::Crash {
                at: self.core.now(),
                pc,
                opcode: executed.opcode,
            });
        }
        self.meters.instructions += 1;
        self.shielded = !enabled && self.core.interrupts_enabled();
        let halt = std::mem::take(&mut self.core.bus_mut().halt);
        let now = self.core.now() + halt;
        if halt > 0 {
            self.core.set_now(now);
        }
        let stack = self.core.stack_pointer();
        if stack < self.meters.lowest_stack && executed.opcode & OUT_MASK != OUT_SPH & OUT_MASK {
            self.meters.lowest_stack = stack;
        }
        match executed.opcode {
            RETI => self.leave(),
            WDR => self.core.bus_mut().feed_watchdog(now),
            SLEEP => return self.fall_asleep(pc),
            _ => {}
        }
        Ok(())
    }

    fn fall_asleep(&mut self, pc: u32) -> Result<(), Fault> {
        match self.core.bus().sleep_bits() {
            (false, _) => Ok(()),
            (true, true) => {
                self.asleep = Some(self.core.now());
                Ok(())
            }
            (true, false) => Err(Fault::SleepMode {
                at: self.core.now(),
                pc,
            }),
        }
    }

    fn settle_sleep(&mut self, now: Moment) {
        if let Some(since) = self.asleep.take() {
            self.meters.asleep += now - since;
        }
    }

    /// Enters an interrupt: the return address goes on the stack, the I flag clears.
    fn enter(&mut self, request: Request, asked: Moment) {
        let Request { vector, since, .. } = request;
        let entered = self.core.now();
        self.core.bus_mut().acknowledge(request);
        let [high, low] = ((self.core.pc() / 2) as u16).to_be_bytes();
        let stack = self.core.stack_pointer();
        let ram_end = self.part.geometry.ram_end;
        for (byte, address) in [(low, stack), (high, stack.wrapping_sub(1))] {
            if address <= ram_end {
                self.core.set_memory(address, byte);
            }
        }
        let stack = stack.wrapping_sub(2);
        self.core.set_stack_pointer(stack);
        self.meters.lowest_stack = self.meters.lowest_stack.min(stack);
        self.core.disable_interrupts();
        self.core
            .set_pc(u32::from(vector) * self.part.vector_size());
        self.core.set_now(entered + RESPONSE);
        self.serving.push(Serving { vector, entered });
        self.meters
            .serve(vector, since.map_or(0, |since| asked - since));
    }

    fn leave(&mut self) {
        if let Some(Serving { vector, entered }) = self.serving.pop() {
            let cycles = self.core.now() - entered;
            self.meters
                .serviced(vector, cycles, !self.serving.is_empty());
        }
    }

    /// Brings the peripherals up to now, which they reach lazily.
    fn sync(&mut self) {
        let now = self.core.now();
        self.core.bus_mut().catch_up(now);
    }
}

/// What can be seen and set.
impl Machine {
    pub fn part(&self) -> &Part {
        &self.part
    }

    pub fn clock(&self) -> Hertz {
        self.clock
    }

    pub fn firmware(&self) -> &Firmware {
        &self.firmware
    }

    /// The value of a symbol of the firmware: see [`Firmware::symbol`].
    pub fn symbol(&self, name: &str) -> Option<u32> {
        self.firmware.symbol(name)
    }

    pub fn now(&self) -> Moment {
        self.core.now()
    }

    /// Seconds of a count of cycles.
    pub fn seconds(&self, cycles: u64) -> f64 {
        cycles as f64 / self.clock.0
    }

    /// Byte address of the next instruction.
    pub fn pc(&self) -> u32 {
        self.core.pc()
    }

    pub fn set_pc(&mut self, address: u32) {
        self.core.set_pc(address);
    }

    pub fn is_asleep(&self) -> bool {
        self.asleep.is_some()
    }

    /// Working register `r0` to `r31`.
    pub fn register(&self, number: u8) -> u8 {
        assert!(number < 32, "there is no r{number}");
        self.core.memory(u16::from(number))
    }

    pub fn set_register(&mut self, number: u8, value: u8) {
        assert!(number < 32, "there is no r{number}");
        self.core.set_memory(u16::from(number), value);
    }

    pub fn status(&self) -> u8 {
        self.core.status()
    }

    pub fn set_status(&mut self, status: u8) {
        self.core.set_status(status);
    }

    pub fn stack_pointer(&self) -> u16 {
        self.core.stack_pointer()
    }

    /// The byte at an address of the data space; a peripheral's register as the firmware would read
    /// it now, without the side effects of a read.
    pub fn memory(&mut self, address: u16) -> u8 {
        let now = self.now();
        if self.core.bus().answers(address) {
            self.sync();
            return self.core.bus().peek(address, now);
        }
        self.core.memory(address)
    }

    /// Sets a byte of RAM, of a working register or of a register without a peripheral.
    pub fn set_memory(&mut self, address: u16, value: u8) {
        self.core.set_memory(address, value);
    }

    /// The address of a register by its name in the part's header.
    pub fn address_of(&self, register: &str) -> Option<u16> {
        self.part.value(&[register])
    }

    /// What the EEPROM holds; a byte being programmed shows its old value.
    pub fn eeprom(&mut self) -> &[u8] {
        self.sync();
        self.core.bus().eeprom.cells()
    }

    pub fn eeprom_mut(&mut self) -> &mut [u8] {
        self.core.bus_mut().eeprom.cells_mut()
    }

    /// How often each EEPROM cell has been programmed.
    pub fn eeprom_wear(&self) -> &[u32] {
        self.core.bus().eeprom.wear()
    }

    /// The EEPROM byte that is being programmed now.
    pub fn programming(&self) -> Option<Programming> {
        self.core
            .bus()
            .eeprom
            .programming()
            .filter(|p| p.done > self.now())
    }

    /// Puts a level on a pin from outside (a pressed button pulls it low), or lets go of it.
    pub fn drive(&mut self, pin: Pin, level: Option<bool>) {
        let now = self.now();
        self.core.bus_mut().drive(pin, level, now);
    }

    /// What a pin puts out now.
    pub fn level(&mut self, pin: Pin) -> Level {
        self.sync();
        self.core.bus().pins.level(pin)
    }

    /// Cycles for which a pin has been driven high since power was first applied.
    pub fn high_cycles(&mut self, pin: Pin) -> u64 {
        self.sync();
        let now = self.now();
        self.core.bus().pins.high_cycles(pin, now)
    }

    /// Chooses what is recorded of a pin from now on.
    pub fn watch(&mut self, pin: Pin, watch: Watch) {
        self.sync();
        self.core.bus_mut().pins.watch(pin, watch);
    }

    /// The edges recorded since this was last asked, in order for each pin.
    pub fn take_edges(&mut self) -> Vec<Edge> {
        self.sync();
        self.core.bus_mut().pins.take_edges()
    }

    /// The timer periods that ended since this was last asked, in order for each pin.
    pub fn take_periods(&mut self) -> Vec<Period> {
        self.sync();
        self.core.bus_mut().pins.take_periods()
    }

    /// Records writes to peripherals' registers from now on, or stops.
    pub fn watch_writes(&mut self, wanted: bool) {
        self.core.bus_mut().writes = wanted.then(Vec::new);
    }

    pub fn take_writes(&mut self) -> Vec<RegisterWrite> {
        self.core
            .bus_mut()
            .writes
            .as_mut()
            .map(std::mem::take)
            .unwrap_or_default()
    }

    /// The accounts so far, with the events missed since power-up.
    pub fn meters(&self) -> Meters {
        let mut meters = self.meters.clone();
        if let Some(since) = self.asleep {
            meters.asleep += self.now() - since;
        }
        for timer in &self.core.bus().timers {
            for (flag, vector) in &timer.vectors {
                let missed = timer.counter.missed[flag.trailing_zeros() as usize];
                if missed > 0 {
                    meters.interrupts.entry(*vector).or_default().missed = missed;
                }
            }
        }
        meters
    }

    /// Begins the accounts anew.
    pub fn clear_meters(&mut self) {
        let now = self.now();
        self.asleep = self.asleep.map(|_| now);
        self.meters = Meters::new(now, self.core.stack_pointer());
        for timer in &mut self.core.bus_mut().timers {
            timer.counter.missed = Default::default();
        }
    }

    /// The most RAM the stack has taken.
    pub fn deepest_stack(&self) -> Bytes {
        Bytes(u32::from(
            self.part.geometry.ram_end - self.meters.lowest_stack,
        ))
    }

    /// Every start of the firmware, the first included.
    pub fn resets(&self) -> &[Reset] {
        &self.resets
    }

    /// What the firmware did that the machine cannot vouch for.
    pub fn doubts(&self) -> &[Doubted] {
        &self.core.bus().doubts
    }
}

/// The firmware did what no chip could go on from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// An instruction that does not exist, an address outside memory, or the end of the flash.
    Crash { at: Moment, pc: u32, opcode: u16 },
    /// SLEEP in another mode than idle, which is not modelled.
    SleepMode { at: Moment, pc: u32 },
}

impl fmt::Display for Fault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Crash { at, pc, opcode } => write!(
                f,
                "the firmware crashes at cycle {}: instruction {opcode:#06x} at {pc:#06x}",
                at.0
            ),
            Self::SleepMode { at, pc } => write!(
                f,
                "the firmware sleeps deeper than idle at cycle {} ({pc:#06x}), which is not \
                 simulated",
                at.0
            ),
        }
    }
}

impl std::error::Error for Fault {}

/// Why a machine could not be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum LoadError {
    Firmware(FirmwareError),
    Part(PartError),
    /// The ELF file is for another family of parts.
    OtherInstructionSet {
        built_for: u32,
        part: String,
    },
    TooLarge {
        size: Bytes,
        part: String,
    },
    /// The simulator was built without the core that the machine borrows.
    NoSimulator,
}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Firmware(error) => error.fmt(f),
            Self::Part(error) => error.fmt(f),
            Self::OtherInstructionSet { built_for, part } => {
                write!(
                    f,
                    "the firmware is built for avr{built_for}, which {part} is not"
                )
            }
            Self::TooLarge { size, part } => {
                write!(
                    f,
                    "the firmware takes {size} of flash, more than {part} has"
                )
            }
            Self::NoSimulator => write!(f, "the simulator was built without its base core"),
        }
    }
}

impl std::error::Error for LoadError {}
