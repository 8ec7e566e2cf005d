//! The machine and how it runs: one instruction, one interrupt or one sleep at a time.

use std::path::Path;

use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};

use super::core::{Bus, Core, Effect, Geometry, InstructionSet};
use super::devices::{Devices, Outcome};
use super::eeprom::Torn;
use super::fault::{Fault, LoadError};
use super::meters::Meters;
use super::moment::Moment;
use super::requests::Request;
use super::reset::{PowerUpMemory, Reset, ResetCause};
use super::silicon::Silicon;
use super::sleep::Asleep;
use crate::units::Hertz;
use crate::verify::Firmware;

/// Datasheets, 'Interrupt Response Time'.
const RESPONSE: u64 = 4;
const RESPONSE_FROM_SLEEP: u64 = 8;
/// Clocks more out of power-down, with the internal oscillator (tables 'Start-up Times'); a crystal takes 1K or
/// 16K, which is time that no part of a light counts.
const START_FROM_POWER_DOWN: u64 = 6;
/// Clocks and time of the longest start-up delay, which is how parts are delivered (tables
/// 'Start-up Times', SUT = 10: 14 CK + 64 ms).
const START_UP_CLOCKS: u64 = 14;
const START_UP_SECONDS: f64 = 64e-3;

/// A chip with its firmware, at a moment of its run.
pub struct Machine {
    pub(super) core: Core<Devices>,
    pub(super) part: Silicon,
    pub(super) clock: Hertz,
    pub(super) firmware: Firmware,
    pub(super) meters: Meters,
    pub(super) resets: Vec<Reset>,
    /// Interrupts being served, outermost first.
    serving: Vec<Serving>,
    pub(super) asleep: Option<Asleep>,
}

/// Why a run stopped.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stop {
    /// It came to where it should.
    There,
    /// The chip was reset.
    Restarted,
    /// It sleeps with its clock stopped.
    PoweredDown,
    /// Time is up.
    Limit,
}

/// How many places a run may stop at.
pub const PLACES: usize = 5;

/// Byte addresses at which a run stops.
pub type Places = [u32; PLACES];

/// No address that an instruction has.
pub const NOWHERE: u32 = u32::MAX;

#[derive(Debug, Clone, Copy)]
struct Serving {
    vector: u8,
    entered: Moment,
    /// The stack pointer, with its return address on the stack.
    stack: u16,
}

impl Machine {
    /// The chip `mcu` (as avr-gcc names it) at `clock`, programmed with the firmware of an ELF file
    /// and just powered up. Its RAM holds random bytes.
    pub fn load(elf: &Path, mcu: &str, clock: Hertz) -> Result<Self, LoadError> {
        let firmware = Firmware::read(elf).map_err(LoadError::Firmware)?;
        let part = Silicon::named(mcu).map_err(LoadError::Silicon)?;
        Self::new(firmware, part, clock)
    }

    /// As [`load`](Self::load), from what has been read before.
    pub fn new(firmware: Firmware, part: Silicon, clock: Hertz) -> Result<Self, LoadError> {
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
        let set = InstructionSet::of_architecture(part.instruction_set).ok_or_else(|| {
            LoadError::NoCore {
                architecture: part.instruction_set,
                part: part.name.clone(),
            }
        })?;
        let mut core = Core::new(part.geometry, set, devices);
        registers
            .into_iter()
            .for_each(|register| core.watch(register));
        core.program(&firmware.flash);
        let cells = core.bus_mut().eeprom.cells_mut();
        let wanted = firmware.eeprom.len().min(cells.len());
        cells[..wanted].copy_from_slice(&firmware.eeprom[..wanted]);
        let mut machine = Self {
            meters: Meters::new(Moment(0)),
            core,
            part,
            clock,
            firmware,
            resets: Vec::new(),
            serving: Vec::new(),
            asleep: None,
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
        self.restart(ResetCause::PowerOn);
        self.clear_meters();
    }

    /// Resets the chip. Memory and working registers keep what they hold, as after a dip of the supply
    /// that is too short for them to lose it; a byte that is being programmed into the EEPROM is
    /// finished.
    pub fn reset(&mut self, cause: ResetCause) {
        let now = self.core.now();
        self.settle_sleep(now);
        self.restart(cause);
        let delay = START_UP_CLOCKS + (START_UP_SECONDS * self.clock.0).round() as u64;
        self.core.set_now(now + delay);
        // The watchdog does not run during the delay.
        self.core.bus_mut().feed_watchdog(now + delay);
    }

    /// Peripherals and processor as any reset leaves them.
    fn restart(&mut self, cause: ResetCause) {
        let now = self.core.now();
        self.core.bus_mut().reset(now, cause);
        self.resets.push(Reset { at: now, cause });
        self.core.reset();
        self.serving.clear();
        self.asleep = None;
    }

    /// Runs until `moment`, give or take the last instruction.
    pub fn run_until(&mut self, moment: Moment) -> Result<(), Fault> {
        while self.core.now() < moment {
            self.execute_undisturbed(moment, [NOWHERE; PLACES])?;
            if self.core.now() < moment {
                self.step_with_care(moment)?;
            }
        }
        Ok(())
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
        loop {
            match self.run_to_any([address; PLACES], limit)? {
                Stop::There => return Ok(true),
                Stop::Limit => return Ok(false),
                Stop::Restarted => {}
                Stop::PoweredDown if self.now() >= limit => return Ok(false),
                Stop::PoweredDown => self.step(limit)?,
            }
        }
    }

    /// Runs until the instruction at one of some places comes next, as it may do already, or the chip
    /// is reset or powers down.
    pub fn run_to_any(&mut self, addresses: Places, limit: Moment) -> Result<Stop, Fault> {
        let resets = self.resets.len();
        loop {
            self.execute_undisturbed(limit, addresses)?;
            if addresses.contains(&self.pc()) && self.asleep.is_none() {
                return Ok(Stop::There);
            }
            if self.is_powered_down() {
                return Ok(Stop::PoweredDown);
            }
            if self.core.now() >= limit {
                return Ok(Stop::Limit);
            }
            self.step_with_care(limit)?;
            if self.resets.len() > resets {
                return Ok(Stop::Restarted);
            }
        }
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
    #[inline]
    pub fn step(&mut self, limit: Moment) -> Result<(), Fault> {
        let undisturbed = self.core.now() < self.core.bus().attention();
        if undisturbed && self.asleep.is_none() {
            return self.execute_one();
        }
        self.step_with_care(limit)
    }

    /// A step in which more may happen than an instruction.
    fn step_with_care(&mut self, limit: Moment) -> Result<(), Fault> {
        let now = self.core.now();
        if now >= self.core.bus().next_event() {
            match self.core.bus_mut().advance(now) {
                Outcome::None => {}
                Outcome::Reset => {
                    self.reset(ResetCause::Watchdog);
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
                    let mut waking = RESPONSE_FROM_SLEEP - RESPONSE;
                    if self.is_powered_down() {
                        waking += START_FROM_POWER_DOWN;
                    }
                    self.settle_sleep(now);
                    self.meters.waking += waking;
                    self.core.set_now(now + waking);
                    self.enter(request, now);
                }
                None => self
                    .core
                    .set_now(self.core.bus().next_event().min(limit).max(now)),
            }
            return Ok(());
        }
        match request.filter(|_| !self.core.just_allowed_interrupts()) {
            Some(request) => {
                self.enter(request, now);
                Ok(())
            }
            None => self.execute_one(),
        }
    }

    /// Instructions up to the one at one of `addresses`, as long as nothing comes between them.
    fn execute_undisturbed(&mut self, limit: Moment, addresses: Places) -> Result<(), Fault> {
        if self.asleep.is_some() {
            return Ok(());
        }
        let effect = self.core.run(limit, addresses);
        self.conclude(effect)
    }

    /// Whatever comes next, an instruction.
    fn execute_one(&mut self) -> Result<(), Fault> {
        let effect = self.core.step();
        self.conclude(effect)
    }

    /// What the last instruction does to more than the core.
    fn conclude(&mut self, effect: Effect) -> Result<(), Fault> {
        let halt = self.core.bus_mut().take_halt();
        if halt > 0 {
            self.core.set_now(self.core.now() + halt);
        }
        let now = self.core.now();
        match effect {
            Effect::None => {}
            Effect::ReturnedFromInterrupt => self.leave(),
            Effect::FedWatchdog => self.core.bus_mut().feed_watchdog(now),
            Effect::Sleeps => return self.fall_asleep(),
            Effect::Failed => {
                return Err(Fault::Crash {
                    at: now,
                    pc: self.core.pc(),
                    opcode: self.core.word(self.core.pc()),
                });
            }
        }
        Ok(())
    }

    /// Enters an interrupt: the return address goes on the stack, the I flag clears.
    fn enter(&mut self, request: Request, asked: Moment) {
        let Request { vector, since, .. } = request;
        let entered = self.core.now();
        self.core.bus_mut().acknowledge(request);
        self.core
            .interrupt(u32::from(vector) * self.part.vector_size());
        self.core.set_now(entered + RESPONSE);
        // One whose return address has been given up for good is no longer served.
        let stack = self.core.stack_pointer();
        self.serving.retain(|outer| outer.stack > stack);
        self.serving.push(Serving {
            vector,
            entered,
            stack,
        });
        self.meters
            .serve(vector, since.map_or(0, |since| asked - since));
    }

    fn leave(&mut self) {
        if let Some(Serving {
            vector, entered, ..
        }) = self.serving.pop()
        {
            let cycles = self.core.now() - entered;
            self.meters
                .serviced(vector, cycles, !self.serving.is_empty());
        }
    }

    /// Brings the peripherals up to now, which they reach lazily.
    pub(super) fn sync(&mut self) {
        let now = self.core.now();
        self.core.bus_mut().catch_up(now);
    }
}
