//! How the chip gets from one tick to the next: instruction by instruction, with a finger on the button.

use super::setup::Landmarks;
use super::{ARGUMENT, Bench, LONGEST_TICK, MOST_STARTS, Started};
use crate::verify::Failure;
use crate::verify::machine::{Fault, Moment, NOWHERE, PLACES, Places, Stop};

/// Where the firmware comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Arrival {
    Tick,
    /// It goes off, in standby, for the night or for good.
    Dark,
}

impl Bench<'_> {
    /// Runs to the start of the next tick, or to where it goes off, and sees what happens on the way.
    pub(super) fn run_to_tick(&mut self) -> Result<Arrival, Failure> {
        let Landmarks {
            light_tick,
            scene_start,
            stand_by,
            night,
            out,
            ..
        } = self.setup.landmarks;
        for _ in 0..=MOST_STARTS {
            let dark = [stand_by, night, out].map(|place| place.unwrap_or(NOWHERE));
            self.run_until([light_tick, scene_start, dark[0], dark[1], dark[2]])?;
            if self.machine.pc() == light_tick {
                return Ok(Arrival::Tick);
            }
            if dark.contains(&self.machine.pc()) {
                return Ok(Arrival::Dark);
            }
            let first = self.tick == 0 && self.started.is_none();
            self.started = Some(Started {
                at: self.machine.now(),
                scene: usize::from(self.machine.register(ARGUMENT)),
            });
            match self.pinned {
                Some(scene) if first => {
                    self.machine.set_register(ARGUMENT, scene as u8);
                    self.run_past(scene_start)?;
                }
                Some(_) => self.machine.skip_call(),
                None => self.run_past(scene_start)?,
            }
        }
        Err(self.stuck())
    }

    /// Runs the one instruction at this address; an interrupt may come before it.
    fn run_past(&mut self, address: u32) -> Result<(), Failure> {
        self.run_until([address + 2; PLACES])
    }

    /// Runs at least one instruction, and on until the one at one of these addresses comes next;
    /// presses the button on the way.
    pub(super) fn run_until(&mut self, addresses: Places) -> Result<(), Failure> {
        let patience = self.machine.now() + (LONGEST_TICK * self.machine.clock().0) as u64;
        let soon = |due: Option<Moment>| due.map_or(patience, |due| due.min(patience));
        let due = self.press_if_due();
        self.step(soon(due.filter(|due| *due > self.machine.now())))?;
        loop {
            self.not_restarted()?;
            let due = self.press_if_due();
            let stop = match due {
                Some(due) if due <= self.machine.now() => {
                    self.run_until_asleep(addresses, patience)
                }
                due => self.machine.run_to_any(addresses, soon(due)),
            };
            match stop.map_err(|fault| self.fault(fault))? {
                Stop::There => return Ok(()),
                Stop::Limit if self.machine.now() >= patience => return Err(self.stuck()),
                Stop::PoweredDown => return Err(self.stuck()),
                Stop::Limit | Stop::Restarted => {}
            }
        }
    }

    /// As `Machine::run_to_any`, but at most until the processor sleeps.
    fn run_until_asleep(&mut self, addresses: Places, limit: Moment) -> Result<Stop, Fault> {
        let resets = self.resets;
        let stopped = self.machine.run_while(limit, |machine| {
            !(machine.is_asleep()
                || addresses.contains(&machine.pc())
                || machine.resets().len() > resets)
        })?;
        let there = stopped && !self.machine.is_asleep() && addresses.contains(&self.machine.pc());
        Ok(if there { Stop::There } else { Stop::Limit })
    }

    /// Fails if the chip has been reset.
    pub(super) fn not_restarted(&self) -> Result<(), Failure> {
        if self.machine.resets().len() > self.resets {
            return Err(Failure::Restart {
                tick: self.tick,
                seconds: self.seconds(),
            });
        }
        Ok(())
    }

    /// Moves the contact if it is time and the processor sleeps; when it is to move next.
    fn press_if_due(&mut self) -> Option<Moment> {
        let press = *self.presses.front()?;
        if press.at > self.machine.now() || !self.machine.is_asleep() {
            return Some(press.at);
        }
        self.presses.pop_front();
        self.close(press.what, press.down);
        self.presses.front().map(|press| press.at)
    }

    pub(super) fn step(&mut self, limit: Moment) -> Result<(), Failure> {
        self.machine.step(limit).map_err(|fault| self.fault(fault))
    }

    pub(super) fn stuck(&self) -> Failure {
        Failure::Stuck {
            tick: self.tick,
            seconds: self.seconds(),
        }
    }

    pub(super) fn fault(&self, fault: Fault) -> Failure {
        Failure::Fault {
            tick: self.tick,
            reason: fault.to_string(),
        }
    }
}
