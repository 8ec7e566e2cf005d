//! The part's peripherals behind its registers: who answers to which address, what asks for an
//! interrupt, and when something happens next.

use super::bus::Access;
use super::converter::Converter;
use super::detector::Detector;
use super::doubt::{Doubt, Doubted};
use super::eeprom::Eeprom;
use super::external::External;
use super::moment::Moment;
use super::pin::Pin;
use super::pins::Pins;
use super::prescaler::Prescalers;
use super::requests::Request;
use super::reset::ResetCause;
use super::routes::{Route, routes};
use super::silicon::Silicon;
use super::sleep::SleepBits;
use super::timer::Timer;
use super::watchdog::Watchdog;
use crate::units::Hertz;

/// What happened while the peripherals ran.
pub(super) use super::watchdog::TimeOut as Outcome;

pub(super) struct Devices {
    pub pins: Pins,
    pub timers: Vec<Timer>,
    pub eeprom: Eeprom,
    pub watchdog: Watchdog,
    pub(super) converter: Converter,
    pub(super) external: External,
    pub doubts: Vec<Doubted>,
    /// Every access to a register that a peripheral answers to, if wanted.
    pub accesses: Option<Vec<Access>>,
    /// Cycles for which the last access halts the processor.
    halt: u64,

    /// By data address.
    routes: Vec<Option<Route>>,
    /// Last value written to the registers that are plain bits.
    pub(super) control: Vec<u8>,
    pub(super) reset_flags: u8,
    pub(super) prescalers: Prescalers,
    pub(super) sleep: SleepBits,
    pub(super) detector: Detector,
    /// Since when the clock of the timers stands still.
    pub(super) stopped: Option<Moment>,
    pub(super) pull_up_disable: Option<(u16, u8)>,
    /// Register and bit that switch each timer off (PRTIMn).
    pub(super) power_bits: Vec<Option<(u16, u8)>>,
    pub(super) eeprom_vector: Option<u8>,
    pub(super) watchdog_vector: Option<u8>,
    pub(super) next: Moment,
    pub(super) pending: Option<Request>,
    /// The same of everything but the timers.
    pub(super) others_next: Moment,
    pub(super) others_pending: Option<Request>,
    /// Nothing comes between one instruction and the next before this moment.
    pub(super) attention: Moment,
}

impl Devices {
    /// The peripherals of `part`, at rest.
    pub(super) fn of(part: &Silicon, clock: Hertz) -> Self {
        let mut pins = Pins::new();
        let timers: Vec<Timer> = part
            .timers
            .iter()
            .filter_map(|t| Timer::of(part, t, &mut pins))
            .collect();
        let external = External::of(part);
        let known = routes(part, &timers, &external);
        let last = known.iter().map(|(address, _)| *address).max();
        let mut routes = vec![None; usize::from(last.unwrap_or(0)) + 1];
        for (address, route) in known {
            routes[usize::from(address)] = Some(route);
        }
        let power_bit = |timer: &Timer| {
            let registers: &[&str] = if timer.number < 3 {
                &["PRR", "PRR0"]
            } else {
                &["PRR1"]
            };
            let bit = part.value(&[&format!("PRTIM{}", timer.number)])?;
            Some((part.value(registers)?, 1 << bit))
        };
        let power_bits = timers.iter().map(power_bit).collect();
        Self {
            pins,
            timers,
            eeprom: Eeprom::new(part.geometry.eeprom_size, clock),
            watchdog: Watchdog::new(clock),
            converter: Converter::of(part),
            external,
            doubts: Vec::new(),
            accesses: None,
            halt: 0,
            control: vec![0; routes.len()],
            routes,
            reset_flags: ResetCause::PowerOn.flag(),
            prescalers: Prescalers::default(),
            sleep: SleepBits::of(part),
            detector: Detector::of(part),
            stopped: None,
            pull_up_disable: part
                .value(&["MCUCR"])
                .zip(part.value(&["PUD"]).map(|b| 1 << b)),
            power_bits,
            eeprom_vector: part
                .value(&[
                    "EE_RDY_vect_num",
                    "EE_READY_vect_num",
                    "EEPROM_Ready_vect_num",
                ])
                .map(|v| v as u8),
            watchdog_vector: part
                .value(&["WDT_vect_num", "WATCHDOG_vect_num", "WDT_OVERFLOW_vect_num"])
                .map(|v| v as u8),
            next: Moment(0),
            pending: None,
            others_next: Moment(0),
            others_pending: None,
            attention: Moment(0),
        }
    }

    /// The registers that a peripheral answers to.
    pub(super) fn registers(&self) -> impl Iterator<Item = u16> + '_ {
        (0..)
            .zip(&self.routes)
            .filter_map(|(address, route)| route.map(|_| address))
    }

    /// Registers to their initial values. MCUSR collects the causes since power came, and the watchdog
    /// runs for as long as its own is among them ('MCU Status Register', WDRF).
    pub(super) fn reset(&mut self, at: Moment, cause: ResetCause) {
        self.restart_clock(at);
        self.reset_flags = match cause {
            ResetCause::PowerOn => cause.flag(),
            _ => self.reset_flags | cause.flag(),
        };
        let by_watchdog = self.reset_flags & ResetCause::Watchdog.flag() != 0;
        for timer in &mut self.timers {
            let prescaler = self.prescalers.of(timer.clock());
            timer.reset(at, prescaler, &mut self.pins);
        }
        self.pins.reset(at);
        self.prescalers = Prescalers::starting(at);
        self.eeprom.reset();
        self.external.clear();
        self.watchdog.reset(at, by_watchdog);
        self.converter.reset();
        self.control.fill(0);
        self.obey_external();
        self.look_ahead();
        self.refresh();
    }

    /// The processor halts for some cycles once its instruction is done, before anything else.
    pub(super) fn halt(&mut self, cycles: u64) {
        self.halt += cycles;
        self.attention = Moment(0);
    }

    /// For how long the last access halts the processor.
    #[inline]
    pub(super) fn take_halt(&mut self) -> u64 {
        let halt = std::mem::take(&mut self.halt);
        if halt > 0 {
            self.refresh_timers();
        }
        halt
    }

    /// The earliest moment at which a flag may rise by itself.
    #[inline]
    pub(super) fn next_event(&self) -> Moment {
        self.next
    }

    /// Runs everything that is due up to `to`.
    pub(super) fn advance(&mut self, to: Moment) -> Outcome {
        let clocked = self.clocked(to);
        for timer in &mut self.timers {
            if timer.counter.next_flag() <= clocked {
                let prescaler = self.prescalers.of(timer.clock());
                timer.counter.advance(clocked, prescaler, &mut self.pins);
            }
        }
        let observed = self.notice_inputs();
        if to < self.others_next && !observed {
            self.refresh_timers();
            return Outcome::None;
        }
        self.eeprom.advance(to);
        let outcome = self.watchdog.advance(to);
        self.refresh();
        outcome
    }

    /// The WDR instruction.
    pub(super) fn feed_watchdog(&mut self, at: Moment) {
        self.watchdog.feed(at);
        self.refresh();
    }

    /// Whether a register is a peripheral's.
    pub(super) fn answers(&self, register: u16) -> bool {
        self.route(register).is_some()
    }

    /// The value of a peripheral's register, without what a read by the firmware would do.
    pub(super) fn peek(&self, register: u16, at: Moment) -> u8 {
        let Some(route) = self.route(register) else {
            return 0;
        };
        match route {
            Route::Input(port) => self.pins.inputs(port, at),
            Route::Direction(port) => self.pins.directions(port),
            Route::Latch(port) => self.pins.latches(port),
            Route::Timer(index, register) => self.timers[usize::from(index)].peek(register),
            Route::TimerMasks => self.shared(register, |t| t.mask_register, Timer::mask),
            Route::TimerFlags => self.shared(register, |t| t.flag_register, Timer::flags),
            Route::Eeprom(register) => self.eeprom.peek(register),
            Route::Watchdog => self.watchdog.peek(),
            Route::Converter(register) => self.converter.peek(register),
            Route::ResetFlags => self.reset_flags,
            Route::ExternalFlags => self.external.flags(register),
            Route::Prescalers | Route::PowerReduction | Route::Control | Route::Foreign(..) => {
                self.control[usize::from(register)]
            }
        }
    }

    /// Brings up to `now` what is only worked out when it matters.
    pub(super) fn catch_up(&mut self, now: Moment) {
        self.settle_timers(now);
        self.eeprom.advance(now);
        if self.stopped.is_none() {
            self.converter.advance(now);
        }
    }

    /// Brings all of a timer up to `to`.
    pub(super) fn settle_timer(&mut self, index: u8, to: Moment) {
        let to = self.clocked(to);
        let timer = &mut self.timers[usize::from(index)];
        let prescaler = self.prescalers.of(timer.clock());
        timer.counter.settle(to, prescaler, &mut self.pins);
    }

    /// Brings counts, flags and outputs of the timers up to `to`.
    pub(super) fn settle_timers(&mut self, to: Moment) {
        for index in 0..self.timers.len() {
            self.settle_timer(index as u8, to);
        }
    }

    /// After a change of how the timers run.
    pub(super) fn look_ahead(&mut self) {
        for timer in &mut self.timers {
            let prescaler = self.prescalers.of(timer.clock());
            timer.counter.look_ahead(prescaler);
        }
    }

    /// After a change of what the external interrupts go by.
    pub(super) fn obey_external(&mut self) {
        self.external.obey(&self.control);
        for timer in &mut self.timers {
            timer.counter.observed = timer.pins() & self.external.urgent() != 0;
        }
        self.look_ahead();
    }

    #[inline]
    pub(super) fn route(&self, register: u16) -> Option<Route> {
        *self.routes.get(usize::from(register))?
    }

    fn shared(
        &self,
        register: u16,
        address: impl Fn(&Timer) -> u16,
        value: impl Fn(&Timer) -> u8,
    ) -> u8 {
        let timers = self
            .timers
            .iter()
            .filter(|timer| address(timer) == register);
        timers.fold(0, |byte, timer| byte | value(timer))
    }

    /// Puts a level on a pin from outside, or lets go of it.
    pub(super) fn drive(&mut self, pin: Pin, level: Option<bool>, at: Moment) {
        self.settle_timers(at);
        self.pins.set_external(pin, level, at);
        self.notice_inputs();
        self.refresh();
    }

    /// Tells the external interrupts of inputs that changed; whether there were any.
    pub(super) fn notice_inputs(&mut self) -> bool {
        let changed = self.pins.take_input_changes() & self.external.pins();
        if changed != 0 {
            let clocked = self.stopped.is_none();
            self.external
                .notice(changed, &self.pins, &self.control, clocked);
        }
        changed != 0
    }

    pub(super) fn doubt(&mut self, at: Moment, doubt: Doubt) {
        if !self.doubts.iter().any(|known| known.doubt == doubt) {
            self.doubts.push(Doubted { at, doubt });
        }
    }
}
