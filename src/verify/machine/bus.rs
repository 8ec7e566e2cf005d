//! What an access of the firmware to a register does.

use super::core::Bus;
use super::devices::Devices;
use super::doubt::Doubt;
use super::moment::Moment;
use super::reset::ResetCause;
use super::routes::Route;

/// A write of the firmware to a peripheral's register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RegisterWrite {
    /// When it took effect.
    pub at: Moment,
    /// Data address.
    pub register: u16,
    pub value: u8,
}

/// Bits of GTCCR.
const SYNCHRONISE: u8 = 1 << 7;
const RESET_SYSTEM: u8 = 1 << 0;
const RESET_OWN: u8 = 1 << 1;

impl Bus for Devices {
    fn read(&mut self, register: u16, at: Moment) -> u8 {
        match self.route(register) {
            Some(Route::Timer(index, register)) => {
                let timer = &mut self.timers[index];
                let prescaler = self.prescalers.of(timer.clock());
                timer.counter.settle(at, prescaler, &mut self.pins);
                timer.read(register)
            }
            Some(Route::Input(_) | Route::TimerFlags) => {
                self.advance_timers(at);
                self.refresh();
                self.peek(register, at)
            }
            Some(Route::Eeprom(_)) => {
                self.eeprom.advance(at);
                self.peek(register, at)
            }
            _ => self.peek(register, at),
        }
    }

    fn write(&mut self, register: u16, value: u8, at: Moment) {
        if let Some(writes) = &mut self.writes {
            writes.push(RegisterWrite {
                at,
                register,
                value,
            });
        }
        let Some(route) = self.route(register) else {
            return;
        };
        match route {
            Route::Input(_) | Route::Direction(_) | Route::Latch(_) => {
                self.advance_timers(at);
                match route {
                    Route::Input(port) => self.pins.toggle_latches(port, value, at),
                    Route::Direction(port) => self.pins.write_directions(port, value, at),
                    Route::Latch(port) => self.pins.write_latches(port, value, at),
                    _ => unreachable!("matched above"),
                }
                if !self.notice_inputs() {
                    return;
                }
            }
            Route::Timer(index, register) => {
                let timer = &mut self.timers[index];
                let prescaler = self.prescalers.of(timer.clock());
                if timer.only_buffers(register) {
                    timer.counter.advance(at, prescaler, &mut self.pins);
                    timer.write(register, value, at, &mut self.pins);
                    return;
                }
                timer.counter.settle(at, prescaler, &mut self.pins);
                timer.write(register, value, at, &mut self.pins);
                self.check_holding(at);
                self.refresh_timers();
            }
            Route::TimerMasks => {
                self.sync_timers(at);
                for timer in self
                    .timers
                    .iter_mut()
                    .filter(|t| t.mask_register == register)
                {
                    timer.write_mask(value);
                }
                self.refresh_timers();
            }
            Route::TimerFlags => {
                self.advance_timers(at);
                for timer in self
                    .timers
                    .iter_mut()
                    .filter(|t| t.flag_register == register)
                {
                    timer.write_flags(value);
                }
            }
            Route::Eeprom(register) => self.halt += self.eeprom.write(register, value, at),
            Route::Watchdog => self.watchdog.write(value, at),
            Route::ResetFlags => {
                self.reset_flags &= value;
                self.watchdog.held_on &= self.reset_flags & ResetCause::Watchdog.flag() != 0;
            }
            Route::ExternalFlags => self.external.write_flags(register, value),
            Route::Prescalers => self.write_prescalers(register, value, at),
            Route::PowerReduction => self.write_power(register, value, at),
            Route::Control => self.write_control(register, value, at),
            Route::Foreign(name, bits) => {
                self.control[usize::from(register)] = value;
                if value & bits != 0 {
                    self.doubt(at, Doubt::NotModelled(name));
                }
            }
        }
        self.refresh();
    }

    /// SBI and CBI touch their bit alone: on PIN that toggles one pin, on a flag register it clears
    /// one flag.
    fn write_bit(&mut self, register: u16, bit: u8, set: bool, at: Moment) {
        let mask = 1 << bit;
        match self.route(register) {
            Some(Route::Input(_) | Route::TimerFlags | Route::ExternalFlags) => {
                if set {
                    self.write(register, mask, at);
                }
            }
            _ => {
                let value = self.peek(register, at);
                self.write(register, if set { value | mask } else { value & !mask }, at);
            }
        }
    }
}

impl Devices {
    fn write_prescalers(&mut self, register: u16, value: u8, at: Moment) {
        self.sync_timers(at);
        let hold = value & SYNCHRONISE != 0;
        if value & RESET_SYSTEM != 0 {
            self.prescalers.system.reset(at, hold);
        }
        if value & RESET_OWN != 0 {
            self.prescalers.own.reset(at, hold);
        }
        if !hold {
            self.prescalers.system.release(at);
            self.prescalers.own.release(at);
        }
        // The reset bits clear themselves, unless TSM holds them.
        let kept = if hold {
            0xFF
        } else {
            !(RESET_SYSTEM | RESET_OWN | SYNCHRONISE)
        };
        self.control[usize::from(register)] = value & kept;
        for timer in &mut self.timers {
            timer.write_shared_control(value, at, &mut self.pins);
        }
        self.refresh_timers();
        self.check_holding(at);
    }

    /// The datasheets say in words that TSM halts the timers, and draw a prescaler whose reset does
    /// not reach the undivided clock.
    fn check_holding(&mut self, at: Moment) {
        let held = self.timers.iter().any(|timer| {
            let prescaler = self.prescalers.of(timer.clock());
            prescaler.is_held() && timer.counter.division == 1
        });
        if held {
            self.doubt(at, Doubt::UndividedTimerHeld);
        }
    }

    fn write_control(&mut self, register: u16, value: u8, at: Moment) {
        self.control[usize::from(register)] = value;
        if let Some((control, bit)) = self.pull_up_disable.filter(|(r, _)| *r == register) {
            debug_assert_eq!(control, register);
            self.pins.disable_pull_ups(value & bit != 0, at);
        }
    }

    fn write_power(&mut self, register: u16, value: u8, at: Moment) {
        self.sync_timers(at);
        self.control[usize::from(register)] = value;
        for (timer, switch) in self.timers.iter_mut().zip(&self.power_bits) {
            if let Some((_, bit)) = switch.filter(|(home, _)| *home == register) {
                timer.set_powered_down(value & bit != 0, at, &mut self.pins);
            }
        }
        self.refresh_timers();
    }
}
