//! Off and on again: the chip goes off where the model does, rests with its pins dark and its clock stopped, and
//! starts anew when the button is pressed, and then only.

use super::course::Arrival;
use super::{Bench, Finger, LONGEST_TICK, Press};
use crate::firmware::Light;
use crate::spec::Active;
use crate::verify::Failure;
use crate::verify::machine::{Level, Moment, NOWHERE, PLACES, Pin, Places, Stop};

/// Cycles for which it may be awake again: an interrupt that was due when its clock stopped is served first.
const DUE: u64 = 100;

/// How long the button is down that switches on what starts dark, in seconds.
const TAP: f64 = 1e-3;

/// A rest.
#[derive(Debug, Clone, Copy)]
pub struct Rest {
    /// When the firmware went off, and when the clock stopped.
    pub off: Moment,
    pub still: Moment,
}

impl<'a> Bench<'a> {
    /// Plays on until it goes off and its clock has stopped; in the next tick it is on again.
    pub fn until_off(&mut self, seconds: f64) -> Result<Option<Rest>, Failure> {
        let end = self.seconds() + seconds;
        while self.seconds() < end {
            if self.off {
                self.wake()?;
            }
            if self.run_to_tick()? == Arrival::Dark {
                return self.go_off().map(Some);
            }
            self.play_tick()?;
        }
        Ok(None)
    }

    /// It stands where it goes off. Where that is how it starts, a tap then switches it on.
    pub(super) fn go_off_and_on(&mut self) -> Result<(), Failure> {
        let fresh = self.tick == 0;
        self.go_off()?;
        if fresh {
            let now = self.machine.now();
            let tap = [
                (now, true),
                (now + (TAP * self.machine.clock().0) as u64, false),
            ];
            for (at, down) in tap.into_iter().rev() {
                self.presses.push_front(Press {
                    at,
                    what: Finger::Button,
                    down,
                });
            }
        }
        Ok(())
    }

    /// It stands where it goes off, in standby or for the night: so does the model. Runs on until the clock stops.
    pub(super) fn go_off(&mut self) -> Result<Rest, Failure> {
        let off = self.machine.now();
        self.turn(off)?;
        let landmarks = &self.setup.landmarks;
        let [night, out] = [landmarks.night, landmarks.out].map(|at| Some(self.machine.pc()) == at);
        let model = &self.model;
        if !model.is_off() || model.is_night() != night || model.is_out() != out {
            return Err(self.goes_off(true));
        }
        self.night = night;
        let patience = off + (LONGEST_TICK * self.machine.clock().0) as u64;
        while self.run_off([NOWHERE; PLACES], patience)? != Stop::PoweredDown {
            if self.machine.now() >= patience {
                return Err(self.restless());
            }
        }
        self.all_dark()?;
        // What it will start from is what memory holds now.
        self.model = self.fresh_model();
        (self.off, self.tick, self.started) = (true, 0, None);
        Ok(Rest {
            off,
            still: self.machine.now(),
        })
    }

    fn fresh_model(&mut self) -> Light<'a> {
        let switch = self.sensed.switch;
        self.setup
            .model(&mut self.machine, self.pinned, false, switch)
    }

    /// Off, it is left alone for some seconds, in which nothing moves.
    pub fn leave_off(&mut self, seconds: f64) -> Result<(), Failure> {
        let end = self.machine.now() + (seconds * self.machine.clock().0) as u64;
        let before = self.machine.now();
        let still = self.machine.meters().powered_down;
        while self.machine.now() < end {
            self.run_off([NOWHERE; PLACES], end)?;
            self.step(end)?;
        }
        let slept = self.machine.meters().powered_down - still;
        if self.machine.is_powered_down() && slept + DUE >= end - before {
            Ok(())
        } else {
            Err(self.restless())
        }
    }

    /// Runs on, powered down, until the firmware starts anew.
    pub(super) fn wake(&mut self) -> Result<(), Failure> {
        let last = self
            .presses
            .back()
            .map_or(self.machine.now(), |press| press.at);
        let alone = if self.night {
            self.longest_night()
        } else {
            LONGEST_TICK
        };
        let patience = last.max(self.machine.now()) + (alone * self.machine.clock().0) as u64;
        let main = self.setup.landmarks.main;
        while self.run_off([main; PLACES], patience)? != Stop::There {
            if self.machine.now() >= patience {
                return Err(self.stuck());
            }
            self.step(self.soon(patience))?;
        }
        // Meanwhile the switch may have been turned.
        self.model = self.fresh_model();
        (self.off, self.turned) = (false, self.machine.now());
        self.let_go(patience)
    }

    /// Runs on until the firmware, which starts anew, lets go of the pins that it kept dark. What those put out
    /// counts from there on.
    fn let_go(&mut self, patience: Moment) -> Result<(), Failure> {
        for channel in 0..self.setup.outputs.len() {
            let pin = self.setup.outputs[channel].pin;
            while self.machine.level(pin) != Level::Released {
                if self.machine.now() >= patience {
                    return Err(self.stuck());
                }
                self.step(patience)?;
            }
            self.high[channel] = self.machine.high_cycles(pin);
        }
        Ok(())
    }

    /// Runs to one of these places, to where the clock stops, or to the next press, which is then made.
    pub(super) fn run_off(&mut self, places: Places, patience: Moment) -> Result<Stop, Failure> {
        let limit = self.soon(patience);
        let stop = self.machine.run_to_any(places, limit);
        let stop = stop.map_err(|fault| self.fault(fault))?;
        self.not_restarted()?;
        let now = self.machine.now();
        while let Some(press) = self
            .presses
            .front()
            .copied()
            .filter(|press| press.at <= now)
        {
            self.presses.pop_front();
            self.close(press.what, press.down);
        }
        Ok(stop)
    }

    /// When the next press is due, but not after `patience`.
    fn soon(&self, patience: Moment) -> Moment {
        let next = self.presses.front();
        next.map_or(patience, |press| press.at.min(patience))
    }

    /// Every channel's pin is driven to the level at which its string is dark, and each of the pump's to some level.
    fn all_dark(&mut self) -> Result<(), Failure> {
        let pump = self.setup.design.plan.drive.pump();
        for pin in pump.into_iter().flat_map(|pump| &pump.pins) {
            let pin: Pin = pin.pin.to_string().parse().map_err(|_| self.restless())?;
            if self.machine.level(pin) == Level::Released {
                return Err(self.restless());
            }
        }
        let outputs = self.setup.outputs.iter().enumerate();
        for (channel, output) in outputs {
            let dark = match output.active {
                Active::High => Level::Low,
                Active::Low => Level::High,
            };
            if self.machine.level(output.pin) != dark {
                let name = &self.setup.design.project.channels[channel].name.value;
                return Err(Failure::Lit {
                    channel: name.clone(),
                });
            }
        }
        Ok(())
    }

    pub(super) fn goes_off(&self, chip: bool) -> Failure {
        Failure::Off {
            tick: self.tick,
            chip,
        }
    }

    fn restless(&self) -> Failure {
        Failure::Restless {
            seconds: self.seconds(),
        }
    }
}
