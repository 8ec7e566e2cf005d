//! The chip on the bench: a simulated part with the firmware, the model running beside it, and a
//! finger on the button. Whatever is checked, chip and model are compared on every tick of it.

mod before;
mod course;
mod duty;
mod hand;
mod night;
mod setup;
mod standby;
mod start;

use std::collections::VecDeque;

use self::course::Arrival;
use self::start::Press;
use super::machine::{Level, Machine, Moment, PLACES, Pin, PowerUpMemory, Torn, Watch};
use super::{Failure, VerifyError};
use crate::conduct::Saved;
use crate::drive::Way;
use crate::firmware::{Begin, Light};
use crate::input::Sensed;
use crate::player::Generator;
use crate::spec::CONTACTS;
use crate::units::{Duty, Lux};

pub use before::Before;
pub use setup::{ChannelPin, Setup};
pub use standby::Rest;
pub use start::{Finger, Start};

/// No tick takes longer than this, however long a scene takes to start.
const LONGEST_TICK: f64 = 20.0;

/// A firmware that starts more scenes from one tick to the next runs in circles: button, dwell, the end of what
/// plays once, and each contact may start one.
const MOST_STARTS: usize = 3 + CONTACTS;

/// Light on a sensor that is dark for any.
const DARK: Lux = Lux(0.01);

/// Where the scene is passed to `scene_start` (avr-gcc's calling convention: the first byte).
const ARGUMENT: u8 = 24;

impl<'a> Setup<'a> {
    /// A chip that has just been switched on, with these contents of its EEPROM (empty: erased).
    pub fn power_up(&'a self, start: &Start) -> Result<Bench<'a>, VerifyError> {
        let clock = self.design.plan.clock.frequency;
        let mut machine = Machine::new(self.firmware.clone(), self.part.clone(), clock)?;
        let cells = machine.eeprom_mut();
        cells[..start.eeprom.len()].copy_from_slice(&start.eeprom);
        machine.cycle_power(Torn::Old, PowerUpMemory::Random(start.noise));
        start.before.happen(&mut machine);
        if let Some(pin) = self.knob {
            machine.apply(pin, start.knob);
        }
        if let Some((pin, divider)) = self.sensor {
            machine.apply(pin, divider.share(DARK).0);
        }
        if let Some(supply) = &self.supply {
            machine.set_bandgap(supply.measured(self.fresh_cells()).0);
        }
        let high = |output: &ChannelPin| machine.high_cycles(output.pin);
        let high = self.outputs.iter().map(high).collect();
        let model = self.model(
            &mut machine,
            start.scene,
            start.before.is_power(),
            start.switch,
        );
        let mut bench = Bench {
            setup: self,
            resets: machine.resets().len(),
            turned: machine.now(),
            high,
            machine,
            model,
            pinned: start.scene,
            presses: VecDeque::new(),
            sensed: Sensed::default(),
            off: false,
            night: false,
            tick: 0,
            started: None,
        };
        for (what, closed) in start.closed() {
            bench.close(what, closed);
        }
        Ok(bench)
    }

    /// The model of a chip that has just been started; `scene`: it stays with this one; `power`: by power, which
    /// may find it in standby; `switch`: that is closed.
    fn model(
        &self,
        machine: &mut Machine,
        scene: Option<usize>,
        power: bool,
        switch: bool,
    ) -> Light<'a> {
        let eeprom = eeprom_in_time(machine);
        let chance = Begin {
            chance: self.chance_in(machine),
            switch,
        };
        let works = self.design.works();
        match scene {
            _ if power && self.design.firmware.starts_dark => {
                Light::power_up(works, &eeprom, chance)
            }
            Some(scene) => Light::pinned(works, &eeprom, chance, scene),
            None => Light::restarted(works, &eeprom, chance),
        }
    }

    /// What a chip that has just been started, and has no record, will take its chance from.
    fn chance_in(&self, machine: &mut Machine) -> Generator {
        let tracks =
            self.design.firmware.track.size.0 * self.design.plan.drive.channels().len() as u32;
        let bytes = self.landmarks.chance.map_or(vec![], |start| {
            let addresses = start..start + tracks as u16;
            addresses.map(|address| machine.memory(address)).collect()
        });
        Generator::chance_in(&bytes)
    }
}

/// What the EEPROM holds once the byte is programmed that is being so.
fn eeprom_in_time(machine: &mut Machine) -> Vec<u8> {
    let mut cells = machine.eeprom().to_vec();
    if let Some(programming) = machine.programming() {
        cells[usize::from(programming.address)] = programming.new;
    }
    cells
}

/// A chip that runs, and the model of it.
pub struct Bench<'a> {
    setup: &'a Setup<'a>,
    pub machine: Machine,
    pub model: Light<'a>,
    pinned: Option<usize>,
    presses: VecDeque<Press>,
    sensed: Sensed,
    /// It has gone off, and rests; for a night.
    off: bool,
    night: bool,
    /// Ticks played.
    tick: u64,
    /// The scene that the firmware started since the last tick, and when.
    started: Option<Started>,
    /// For how long the channels' pins had been high before the firmware was started, or started anew.
    high: Vec<u64>,
    /// When the model took its last turn.
    turned: Moment,
    resets: usize,
}

/// A scene that the firmware started.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Started {
    pub at: Moment,
    pub scene: usize,
}

/// A tick of the chip.
#[derive(Debug, Clone)]
pub struct Frame {
    /// When the firmware began to work it out, and when it had put it out.
    pub begun: Moment,
    pub done: Moment,
    /// By channel, as the chip has it.
    pub duties: Vec<Duty>,
    /// The scene that was started before this tick.
    pub started: Option<Started>,
    /// The byte whose write was started before this tick.
    pub saved: Option<Saved>,
}

impl Bench<'_> {
    /// Records the light at the channels' pins from now on: periods of timers; or edges, and when a port is
    /// written.
    pub fn watch_light(&mut self) {
        let channels = self.setup.design.plan.drive.channels();
        if channels.iter().any(|channel| channel.way == Way::Planes) {
            self.machine.watch_accesses(true);
        }
        for (channel, output) in channels.iter().zip(&self.setup.outputs) {
            let periods = matches!(channel.way, Way::Output(_));
            let watch = Watch {
                edges: !periods,
                periods,
            };
            self.machine.watch(output.pin, watch);
        }
    }

    /// Whether a channel's pin has put anything out since the firmware was started.
    pub fn has_put_out(&mut self, channel: usize) -> bool {
        let pin = self.setup.outputs[channel].pin;
        self.machine.level(pin) != Level::Released
            || self.machine.high_cycles(pin) > self.high[channel]
    }

    /// Runs until a pin is an output; when that is.
    pub fn until_driven(&mut self, pin: Pin) -> Result<Moment, Failure> {
        let limit = self.machine.now() + (LONGEST_TICK * self.machine.clock().0) as u64;
        while self.machine.level(pin) == Level::Released {
            if self.machine.now() >= limit {
                return Err(self.stuck());
            }
            self.step(limit)?;
        }
        Ok(self.machine.now())
    }

    /// Seconds since power-up.
    pub fn seconds(&self) -> f64 {
        self.machine.seconds(self.machine.now().0)
    }

    /// What the firmware remembers, byte for byte.
    pub fn remembered(&mut self) -> Vec<u8> {
        let length = self.model.state().len() as u16;
        match self.setup.landmarks.remembered {
            Some(start) => (start..start + length)
                .map(|address| self.machine.memory(address))
                .collect(),
            None => Vec::new(),
        }
    }

    /// Sends the firmware to an address from which it never comes back, until the watchdog restarts
    /// it; the seconds that took. `None`: longer than `patience`. Chip and model then start anew.
    pub fn stand_still(&mut self, address: u32, patience: f64) -> Result<Option<f64>, Failure> {
        let since = self.seconds();
        let limit = self.machine.now() + (patience * self.machine.clock().0) as u64;
        let resets = self.resets;
        self.machine.set_pc(address);
        let stuck = |machine: &Machine| machine.resets().len() == resets;
        self.machine
            .run_while(limit, stuck)
            .map_err(|fault| self.fault(fault))?;
        let Some(reset) = self.machine.resets().get(resets) else {
            return Ok(None);
        };
        let took = self.machine.seconds(reset.at.0) - since;
        self.resets = resets + 1;
        self.model = self
            .setup
            .model(&mut self.machine, None, false, self.sensed.switch);
        (self.tick, self.started) = (0, None);
        self.turned = self.machine.now();
        Ok(Some(took))
    }

    /// Runs the next tick on chip and model.
    pub fn next_tick(&mut self) -> Result<Frame, Failure> {
        loop {
            if self.off {
                self.wake()?;
            }
            match self.run_to_tick()? {
                Arrival::Tick => return self.play_tick(),
                Arrival::Dark => self.go_off_and_on()?,
            }
        }
    }

    /// The tick at whose start it stands.
    fn play_tick(&mut self) -> Result<Frame, Failure> {
        let begun = self.machine.now();
        let saved = self.turn(begun)?;
        if self.model.is_off() {
            return Err(self.goes_off(false));
        }
        let back = self.machine.return_address();
        self.run_until([back; PLACES])?;
        let done = self.machine.now();
        let duties: Vec<Duty> = (0..self.setup.outputs.len())
            .map(|channel| self.duty(channel))
            .collect();
        let model = self.model.play();
        self.compare(&duties, &model)?;
        self.tick += 1;
        Ok(Frame {
            begun,
            done,
            duties,
            started: self.started.take(),
            saved,
        })
    }

    /// The model's turn before a tick, compared with what the chip did.
    fn turn(&mut self, now: Moment) -> Result<Option<Saved>, Failure> {
        self.notice_measured();
        let first = self.tick == 0;
        let turn = if first {
            crate::firmware::Turn {
                started: (self.pinned.is_none() && !self.model.is_off())
                    .then(|| self.model.scene()),
                ..Default::default()
            }
        } else {
            self.model.turn(self.sensed)
        };
        let chip = self.started.map(|started| started.scene);
        if chip != turn.started && !(first && self.pinned.is_some()) {
            let scenes = &self.setup.design.deck.image.score.scenes;
            let name = |scene: Option<usize>| {
                scene.map(|scene| match scenes.get(scene) {
                    Some(scene) => scene.name.clone(),
                    None => format!("scene {scene}, which there is not"),
                })
            };
            return Err(Failure::Scene {
                tick: self.tick,
                model: name(turn.started),
                chip: name(chip),
            });
        }
        let chip = self.remembered();
        // One that is dark from the first moment has nothing yet to remember.
        let asleep = first && self.model.is_off();
        if !chip.is_empty() && !asleep {
            let model = self.model.state();
            if chip != model {
                return Err(Failure::State {
                    tick: self.tick,
                    model,
                    chip,
                });
            }
        }
        let written = self
            .machine
            .latest_programming() // It may have ended while a scene was started.
            .filter(|programming| programming.started >= self.turned)
            .map(|programming| Saved {
                address: programming.address,
                value: programming.new,
            });
        if written != turn.saved {
            let pair = |saved: Option<Saved>| saved.map(|saved| (saved.address, saved.value));
            return Err(Failure::Write {
                tick: self.tick,
                model: pair(turn.saved),
                chip: pair(written),
            });
        }
        self.turned = now;
        Ok(turn.saved)
    }

    fn compare(&self, chip: &[Duty], model: &[Duty]) -> Result<(), Failure> {
        match (0..chip.len()).find(|&channel| chip[channel] != model[channel]) {
            None => Ok(()),
            Some(channel) => Err(Failure::Duty {
                tick: self.tick,
                channel: self.setup.design.project.channels[channel]
                    .name
                    .value
                    .clone(),
                model: model[channel],
                chip: chip[channel],
            }),
        }
    }
}
