//! What each instruction does.

use super::instruction::Instruction;
use super::transfer::Z;
use super::{Bus, Core, Effect};
use crate::verify::machine::moment::Moment;

/// No chip could do it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Refused;

pub(super) type Done = Result<(), Refused>;

impl<B: Bus> Core<B> {
    /// Executes instructions until one does more than the core can, which is said, or until the bus
    /// wants attention, the instruction at one of these byte addresses comes next, or time is up.
    pub fn run<const PLACES: usize>(&mut self, limit: Moment, addresses: [u32; PLACES]) -> Effect {
        let places = addresses.map(|address| address / 2);
        // Kept here, not in the core, because each instruction waits for it.
        let mut pc = self.pc;
        let effect = loop {
            let end = self.bus.attention().min(limit);
            if self.cycle >= end || places.contains(&pc.into()) {
                break Effect::None;
            }
            let effect;
            (effect, pc) = self.step_at(pc);
            if effect != Effect::None {
                break effect;
            }
        };
        self.pc = pc;
        effect
    }

    /// Executes one instruction.
    pub fn step(&mut self) -> Effect {
        let (effect, pc) = self.step_at(self.pc);
        self.pc = pc;
        effect
    }

    /// Executes the instruction at `pc`, and says where to go on: there again if it failed. The clock
    /// moves on first: a store takes effect now, a load sees what was there a cycle ago.
    #[inline(always)]
    fn step_at(&mut self, pc: u16) -> (Effect, u16) {
        let Some(&decoded) = self.code.get(usize::from(pc)) else {
            return (Effect::Failed, pc);
        };
        self.executed += 1;
        let next = pc.wrapping_add(decoded.words.into());
        let Moment(before) = self.cycle;
        self.cycle = Moment(before + u64::from(decoded.cycles));
        match self.execute(decoded.instruction, next) {
            Ok(next) => (decoded.effect, next),
            Err(Refused) => {
                self.cycle = Moment(before);
                (Effect::Failed, pc)
            }
        }
    }

    /// What to execute after this, which is `next` unless it is told otherwise.
    #[inline(always)]
    fn execute(&mut self, instruction: Instruction, next: u16) -> Result<u16, Refused> {
        use Instruction as I;
        if self.calculate(instruction).is_some() {
            return Ok(next);
        }
        if self.transfer(instruction)? {
            return Ok(next);
        }
        match instruction {
            I::Nop | I::Sleep | I::FeedWatchdog | I::Break => Ok(next),
            I::BranchIfSet(bit, distance) => {
                self.branch_if(self.status.0 & bit.mask() != 0, next, distance)
            }
            I::BranchIfClear(bit, distance) => {
                self.branch_if(self.status.0 & bit.mask() == 0, next, distance)
            }
            I::SkipIfEqual(d, r) => self.skip_if(self.reg(d) == self.reg(r), next),
            I::SkipIfClear(r, bit) => self.skip_if(self.reg(r) & bit.mask() == 0, next),
            I::SkipIfSet(r, bit) => self.skip_if(self.reg(r) & bit.mask() != 0, next),
            I::SkipIfPortBitClear(port, bit) => {
                let value = self.load(self.address_of(port))?;
                self.skip_if(value & bit.mask() == 0, next)
            }
            I::SkipIfPortBitSet(port, bit) => {
                let value = self.load(self.address_of(port))?;
                self.skip_if(value & bit.mask() != 0, next)
            }
            I::JumpBy(distance) => Ok(self.wrapped(next, distance)),
            I::JumpTo(target) => Ok(target),
            I::JumpToZ => Ok(self.pair(Z)),
            I::CallBy(distance) => self.call(self.wrapped(next, distance), next),
            I::CallTo(target) => self.call(target, next),
            I::CallZ => self.call(self.pair(Z), next),
            I::Return => self.give_back(),
            I::ReturnFromInterrupt => {
                let mut status = self.status;
                status.allow_interrupts(true);
                self.set_status_now(status);
                self.give_back()
            }
            // Programming its own flash is beyond this model, and the rest is no instruction of this part.
            _ => Err(Refused),
        }
    }

    #[inline]
    fn branch_if(&mut self, so: bool, next: u16, distance: i8) -> Result<u16, Refused> {
        if !so {
            return Ok(next);
        }
        self.cycle += u64::from(self.set.timing.branch - 1);
        Ok(next.wrapping_add_signed(distance.into()))
    }

    #[inline]
    fn skip_if(&mut self, so: bool, next: u16) -> Result<u16, Refused> {
        if !so {
            return Ok(next);
        }
        let skipped = self.code.get(usize::from(next)).ok_or(Refused)?.words;
        self.cycle += u64::from(skipped);
        Ok(next.wrapping_add(skipped.into()))
    }

    /// RJMP and RCALL go round the ends of the flash: the program counter has no more bits than the
    /// flash needs.
    #[inline]
    fn wrapped(&self, next: u16, distance: i16) -> u16 {
        next.wrapping_add_signed(distance) & (self.code.len() - 1) as u16
    }

    #[inline]
    fn call(&mut self, target: u16, next: u16) -> Result<u16, Refused> {
        let [low, high] = next.to_le_bytes();
        self.push(low)?;
        self.push(high)?;
        Ok(target)
    }

    #[inline]
    fn give_back(&mut self) -> Result<u16, Refused> {
        let high = self.pop()?;
        let low = self.pop()?;
        Ok(u16::from_le_bytes([low, high]))
    }
}
