//! What an access of the firmware to a register does.

use super::converter::ConverterRegister;
use super::core::Bus;
use super::devices::Devices;
use super::doubt::Doubt;
use super::moment::Moment;
use super::pins::Pins;
use super::reset::ResetCause;
use super::routes::{FOREIGN, Route};

/// An access of the firmware to a peripheral's register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Access {
    /// The cycle in which a read takes its value; when a write has taken effect.
    pub at: Moment,
    /// Data address.
    pub register: u16,
    pub kind: AccessKind,
    /// What was read or written; of SBI and CBI, the bit.
    pub value: u8,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AccessKind {
    Read,
    Write,
    /// SBI.
    SetBit,
    /// CBI.
    ClearBit,
}

/// Bits of GTCCR.
const SYNCHRONISE: u8 = 1 << 7;
const RESET_SYSTEM: u8 = 1 << 0;
const RESET_OWN: u8 = 1 << 1;

impl Bus for Devices {
    #[inline]
    fn attention(&self) -> Moment {
        self.attention
    }

    fn read(&mut self, register: u16, at: Moment) -> u8 {
        let value = match self.route(register) {
            Some(Route::Timer(index, register)) => {
                self.settle_timer(index, at);
                self.timers[usize::from(index)].read(register)
            }
            Some(Route::Input(_) | Route::TimerFlags) => {
                self.settle_timers(at);
                self.peek(register, at)
            }
            Some(Route::ExternalFlags) => {
                self.settle_timers(at);
                self.notice_inputs();
                self.peek(register, at)
            }
            Some(Route::Converter(register)) => self.converter.take(register, at),
            Some(Route::Eeprom(_)) => {
                self.eeprom.advance(at);
                self.peek(register, at)
            }
            _ => self.peek(register, at),
        };
        self.note(at, register, AccessKind::Read, value);
        value
    }

    fn write(&mut self, register: u16, value: u8, at: Moment) {
        self.note(at, register, AccessKind::Write, value);
        self.store(register, value, at);
    }

    /// SBI and CBI touch their bit alone: on PIN that toggles one pin, on a flag register it clears
    /// one flag.
    fn write_bit(&mut self, register: u16, bit: u8, set: bool, at: Moment) {
        let mask = 1 << bit;
        let kind = if set {
            AccessKind::SetBit
        } else {
            AccessKind::ClearBit
        };
        self.note(at, register, kind, mask);
        match self.route(register) {
            Some(Route::Input(_) | Route::TimerFlags | Route::ExternalFlags) => {
                if set {
                    self.store(register, mask, at);
                }
            }
            _ => {
                let value = self.peek(register, at);
                self.store(register, if set { value | mask } else { value & !mask }, at);
            }
        }
    }
}

impl Devices {
    #[inline]
    fn note(&mut self, at: Moment, register: u16, kind: AccessKind, value: u8) {
        if let Some(accesses) = &mut self.accesses {
            accesses.push(Access {
                at,
                register,
                kind,
                value,
            });
        }
    }

    /// What a write does.
    fn store(&mut self, register: u16, value: u8, at: Moment) {
        let Some(route) = self.route(register) else {
            return;
        };
        match route {
            Route::Timer(index, register)
                if self.timers[usize::from(index)].only_buffers(register) =>
            {
                let timer = &mut self.timers[usize::from(index)];
                let prescaler = self.prescalers.of(timer.clock());
                timer.counter.advance(at, prescaler, &mut self.pins);
                timer.write(register, value, at, &mut self.pins);
                return;
            }
            Route::Input(port) => return self.flip(port, value, at, Pins::flip_latches),
            Route::Latch(port) => {
                let changes = value ^ self.pins.latches(port);
                return self.flip(port, changes, at, Pins::flip_latches);
            }
            Route::Direction(port) => {
                let changes = value ^ self.pins.directions(port);
                return self.flip(port, changes, at, Pins::flip_directions);
            }
            Route::Timer(index, register) => {
                // All of them: some pins are two timers'.
                self.settle_timers(at);
                let timer = &mut self.timers[usize::from(index)];
                let strange = timer.not_modelled(register, value);
                timer.write(register, value, at, &mut self.pins);
                if let Some(name) = strange {
                    self.doubt(at, Doubt::NotModelled(name));
                }
                self.check_holding(at);
                self.look_ahead();
            }
            Route::TimerMasks => {
                self.settle_timers(at);
                let timers = self.timers.iter_mut();
                let masked = timers.filter(|timer| timer.mask_register == register);
                masked.for_each(|timer| timer.write_mask(value));
                self.look_ahead();
            }
            Route::TimerFlags => {
                self.settle_timers(at);
                let timers = self.timers.iter_mut();
                let flagged = timers.filter(|timer| timer.flag_register == register);
                flagged.for_each(|timer| timer.write_flags(value));
            }
            Route::Eeprom(register) => {
                let halt = self.eeprom.write(register, value, at);
                self.refresh();
                if halt > 0 {
                    self.halt(halt);
                }
                return;
            }
            Route::Converter(register) => return self.write_converter(register, value, at),
            Route::Watchdog => self.watchdog.write(value, at),
            Route::ResetFlags => {
                self.reset_flags &= value;
                self.watchdog.held_on &= self.reset_flags & ResetCause::Watchdog.flag() != 0;
            }
            Route::ExternalFlags => {
                self.settle_timers(at);
                self.notice_inputs();
                self.external.write_flags(register, value);
            }
            Route::Prescalers => self.write_prescalers(register, value, at),
            Route::PowerReduction => self.write_power(register, value, at),
            Route::Control => self.write_control(register, value, at),
            Route::Foreign(place) => {
                let (name, bits) = FOREIGN[usize::from(place)];
                self.control[usize::from(register)] = value;
                if value & bits != 0 {
                    self.doubt(at, Doubt::NotModelled(name));
                }
            }
        }
        self.refresh();
    }

    /// A write to a port that changes these bits of its latches or directions.
    #[inline]
    fn flip(&mut self, port: u8, bits: u8, at: Moment, flip: fn(&mut Pins, u8, u8, Moment)) {
        if self.pins.serve_timers(port, bits) {
            self.settle_timers(at);
        }
        flip(&mut self.pins, port, bits, at);
        if self.notice_inputs() {
            self.refresh();
        }
    }

    fn write_converter(&mut self, register: ConverterRegister, value: u8, at: Moment) {
        if let Some(unsaid) = self.converter.write(register, value, at) {
            self.doubt(at, Doubt::Converter(unsaid));
        }
    }

    fn write_prescalers(&mut self, register: u16, value: u8, at: Moment) {
        self.settle_timers(at);
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
        self.look_ahead();
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
        self.settle_timers(at);
        self.notice_inputs();
        self.control[usize::from(register)] = value;
        self.detector.write(register, value, at);
        self.obey_external();
        if let Some((control, bit)) = self.pull_up_disable.filter(|(r, _)| *r == register) {
            debug_assert_eq!(control, register);
            self.pins.disable_pull_ups(value & bit != 0, at);
        }
    }

    fn write_power(&mut self, register: u16, value: u8, at: Moment) {
        self.settle_timers(at);
        self.control[usize::from(register)] = value;
        for (timer, switch) in self.timers.iter_mut().zip(&self.power_bits) {
            if let Some((_, bit)) = switch.filter(|(home, _)| *home == register) {
                timer.set_powered_down(value & bit != 0, at, &mut self.pins);
            }
        }
        self.look_ahead();
    }
}
