//! Sleep modes (datasheets, 'Power Management and Sleep Modes'): in idle everything but the processor goes on;
//! in power-down the clock of the timers stops with it, and only the watchdog, a level at an INT pin and a
//! change at a PCINT pin wake it.

use super::devices::Devices;
use super::doubt::Doubt;
use super::fault::Fault;
use super::moment::Moment;
use super::run::Machine;
use super::silicon::Silicon;

/// What the sleep bits ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum SleepMode {
    Idle,
    PowerDown,
    /// One that is not modelled.
    Other,
}

/// A sleep, and since when.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Asleep {
    pub since: Moment,
    pub powered_down: bool,
}

/// Where the sleep bits are.
#[derive(Debug, Clone, Copy)]
pub(super) struct SleepBits {
    register: u16,
    enable: u8,
    mode: u8,
    /// The mode bits of power-down, as the part's header has them.
    power_down: u8,
}

impl SleepBits {
    pub(super) fn of(part: &Silicon) -> Self {
        let bit = |names: &[&str]| part.value(names).map_or(0, |bit| 1u8 << bit);
        Self {
            register: part.value(&["SMCR", "MCUCR"]).unwrap_or(0),
            enable: bit(&["SE"]),
            mode: bit(&["SM0"]) | bit(&["SM1"]) | bit(&["SM2"]),
            power_down: part.value(&["SLEEP_MODE_PWR_DOWN"]).unwrap_or(0) as u8,
        }
    }
}

impl Machine {
    /// The SLEEP instruction.
    pub(super) fn fall_asleep(&mut self) -> Result<(), Fault> {
        let Some(mode) = self.core.bus().sleep_mode() else {
            return Ok(());
        };
        let (at, pc) = (self.core.now(), self.core.pc() - 2);
        let powered_down = match mode {
            SleepMode::Idle => false,
            SleepMode::PowerDown if self.programming().is_some() => {
                return Err(Fault::SleepWhileProgramming { at, pc });
            }
            SleepMode::PowerDown => true,
            SleepMode::Other => return Err(Fault::SleepMode { at, pc }),
        };
        if powered_down {
            self.meters.power_downs += 1;
            self.meters.unwatched += u64::from(self.core.bus().detector.rests(at));
            self.core.bus_mut().stop_clock(at);
        }
        self.asleep = Some(Asleep {
            since: at,
            powered_down,
        });
        Ok(())
    }

    /// It sleeps no longer; for so long it did.
    pub(super) fn settle_sleep(&mut self, now: Moment) {
        let Some(asleep) = self.asleep.take() else {
            return;
        };
        let slept = now - asleep.since;
        if asleep.powered_down {
            self.meters.powered_down += slept;
            self.core.bus_mut().restart_clock(now);
        } else {
            self.meters.asleep += slept;
        }
    }
}

impl Devices {
    /// The mode in which SLEEP sleeps. `None`: it does nothing.
    pub(super) fn sleep_mode(&self) -> Option<SleepMode> {
        let bits = self.sleep;
        let value = self.control[usize::from(bits.register)];
        (value & bits.enable != 0).then_some(match value & bits.mode {
            0 => SleepMode::Idle,
            mode if mode == bits.power_down => SleepMode::PowerDown,
            _ => SleepMode::Other,
        })
    }

    /// The clock of the timers stops.
    pub(super) fn stop_clock(&mut self, at: Moment) {
        self.settle_timers(at);
        for timer in &self.timers {
            timer.counter.end_periods(&mut self.pins);
        }
        if self.converter.is_on() {
            self.doubt(at, Doubt::ConverterAsleep);
        }
        self.converter.stop(at);
        self.stopped = Some(at);
        self.refresh();
    }

    /// It goes on: for the timers no time has passed.
    pub(super) fn restart_clock(&mut self, at: Moment) {
        let Some(stopped) = self.stopped.take() else {
            return;
        };
        let missed = at - stopped;
        self.prescalers.system.skip(missed);
        self.prescalers.own.skip(missed);
        for timer in &mut self.timers {
            timer.counter.skip(missed);
        }
        self.look_ahead();
        self.refresh();
    }

    /// The moment up to which the timers have run by `to`.
    #[inline]
    pub(super) fn clocked(&self, to: Moment) -> Moment {
        self.stopped.map_or(to, |stopped| stopped.min(to))
    }
}
