//! The part's peripherals behind its registers: who answers to which address, what asks for an
//! interrupt, and when something happens next.

use super::bus::RegisterWrite;
use super::doubt::{Doubt, Doubted};
use super::eeprom::Eeprom;
use super::external::External;
use super::moment::Moment;
use super::part::Part;
use super::pin::Pin;
use super::pins::Pins;
use super::prescaler::Prescalers;
use super::reset::ResetCause;
use super::routes::{Route, routes};
use super::timer::Timer;
use super::watchdog::Watchdog;
use crate::units::Hertz;

/// What asks for an interrupt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Source {
    Timer { index: usize, flag: u8 },
    EepromReady,
    Watchdog,
    External,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Request {
    pub vector: u8,
    pub source: Source,
    /// When it was first asked for, where that is known.
    pub since: Option<Moment>,
}

/// What happened while the peripherals ran.
pub(super) use super::watchdog::TimeOut as Outcome;

pub(super) struct Devices {
    pub pins: Pins,
    pub timers: Vec<Timer>,
    pub eeprom: Eeprom,
    pub watchdog: Watchdog,
    pub(super) external: External,
    pub doubts: Vec<Doubted>,
    /// Every write to a register that a peripheral answers to, if wanted.
    pub writes: Option<Vec<RegisterWrite>>,
    /// Cycles for which the last access halts the processor.
    pub halt: u64,

    routes: Vec<(u16, Route)>,
    /// Index into `routes` by data address, one more than the place; 0 is none.
    route_of: Vec<u8>,
    /// Last value written to the registers that are plain bits.
    pub(super) control: Vec<u8>,
    pub(super) reset_flags: u8,
    pub(super) prescalers: Prescalers,
    sleep: SleepBits,
    pub(super) pull_up_disable: Option<(u16, u8)>,
    /// Register and bit that switch each timer off (PRTIMn).
    pub(super) power_bits: Vec<Option<(u16, u8)>>,
    eeprom_vector: Option<u8>,
    watchdog_vector: Option<u8>,
    next: Moment,
    pending: Option<Request>,
}

/// Where the sleep bits are.
#[derive(Debug, Clone, Copy)]
struct SleepBits {
    register: u16,
    enable: u8,
    mode: u8,
}

impl Devices {
    /// The peripherals of `part`, at rest.
    pub fn of(part: &Part, clock: Hertz) -> Self {
        let mut pins = Pins::new();
        let timers: Vec<Timer> = part
            .timers
            .iter()
            .filter_map(|t| Timer::of(part, t, &mut pins))
            .collect();
        let external = External::of(part);
        let routes = routes(part, &timers, &external);
        let last = routes
            .iter()
            .map(|(address, _)| *address)
            .max()
            .unwrap_or(0);
        let mut route_of = vec![0; usize::from(last) + 1];
        for (place, (address, _)) in routes.iter().enumerate() {
            route_of[usize::from(*address)] = place as u8 + 1;
        }
        let bit = |names: &[&str]| part.value(names).map_or(0, |bit| 1u8 << bit);
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
            external,
            doubts: Vec::new(),
            writes: None,
            halt: 0,
            control: vec![0; route_of.len()],
            routes,
            route_of,
            reset_flags: ResetCause::PowerOn.flag(),
            prescalers: Prescalers::default(),
            sleep: SleepBits {
                register: part.value(&["SMCR", "MCUCR"]).unwrap_or(0),
                enable: bit(&["SE"]),
                mode: bit(&["SM0"]) | bit(&["SM1"]) | bit(&["SM2"]),
            },
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
        }
    }

    /// The registers that a peripheral answers to.
    pub fn registers(&self) -> impl Iterator<Item = u16> + '_ {
        self.routes.iter().map(|(address, _)| *address)
    }

    /// Registers to their initial values. MCUSR collects the causes since power came, and the watchdog
    /// runs for as long as its own is among them ('MCU Status Register', WDRF).
    pub fn reset(&mut self, at: Moment, cause: ResetCause) {
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
        self.external.reset();
        self.watchdog.reset(at, by_watchdog);
        self.control.fill(0);
        self.refresh_timers();
    }

    /// The earliest moment at which a flag may rise by itself.
    #[inline]
    pub fn next_event(&self) -> Moment {
        self.next
    }

    /// Before this moment, nothing comes between one instruction and the next.
    #[inline]
    pub fn attention(&self) -> Moment {
        if self.pending.is_some() {
            Moment(0)
        } else {
            self.next
        }
    }

    /// The interrupt with the lowest vector among those asked for.
    #[inline]
    pub fn pending(&self) -> Option<Request> {
        self.pending
    }

    /// Runs everything up to `to`.
    pub fn advance(&mut self, to: Moment) -> Outcome {
        self.advance_timers(to);
        self.eeprom.advance(to);
        let outcome = self.watchdog.advance(to);
        self.refresh();
        outcome
    }

    /// The processor begins to serve a request: its flag clears.
    pub fn acknowledge(&mut self, request: Request) {
        match request.source {
            Source::Timer { index, flag } => self.timers[index].counter.flags &= !flag,
            Source::EepromReady => {}
            Source::Watchdog => self.watchdog.acknowledge(),
            Source::External => self.external.acknowledge(request.vector),
        }
        self.refresh();
    }

    /// The WDR instruction.
    pub fn feed_watchdog(&mut self, at: Moment) {
        self.watchdog.feed(at);
        self.refresh();
    }

    /// Whether SLEEP sleeps, and whether the mode is idle.
    pub fn sleep_bits(&self) -> (bool, bool) {
        let value = self.control[usize::from(self.sleep.register)];
        (value & self.sleep.enable != 0, value & self.sleep.mode == 0)
    }

    /// Whether a register is a peripheral's.
    pub fn answers(&self, register: u16) -> bool {
        self.route(register).is_some()
    }

    /// The value of a peripheral's register, without what a read by the firmware would do.
    pub fn peek(&self, register: u16, at: Moment) -> u8 {
        let Some(route) = self.route(register) else {
            return 0;
        };
        match route {
            Route::Input(port) => self.pins.inputs(port, at),
            Route::Direction(port) => self.pins.directions(port),
            Route::Latch(port) => self.pins.latches(port),
            Route::Timer(index, register) => self.timers[index].peek(register),
            Route::TimerMasks => self.shared(register, |t| t.mask_register, Timer::mask),
            Route::TimerFlags => self.shared(register, |t| t.flag_register, Timer::flags),
            Route::Eeprom(register) => self.eeprom.peek(register),
            Route::Watchdog => self.watchdog.peek(),
            Route::ResetFlags => self.reset_flags,
            Route::ExternalFlags => self.external.flags(register),
            Route::Prescalers | Route::PowerReduction | Route::Control | Route::Foreign(..) => {
                self.control[usize::from(register)]
            }
        }
    }

    /// Brings up to `now` what is only worked out when it matters.
    pub fn catch_up(&mut self, now: Moment) {
        self.sync_timers(now);
        self.eeprom.advance(now);
    }

    /// Brings counts, flags and outputs of the timers up to `to`.
    pub(super) fn sync_timers(&mut self, to: Moment) {
        for timer in &mut self.timers {
            let prescaler = self.prescalers.of(timer.clock());
            timer.counter.settle(to, prescaler, &mut self.pins);
        }
    }

    /// Brings flags and outputs of the timers up to `to`; see [`Counter::advance`].
    ///
    /// [`Counter::advance`]: super::counter::Counter::advance
    #[inline]
    pub(super) fn advance_timers(&mut self, to: Moment) {
        for timer in &mut self.timers {
            let prescaler = self.prescalers.of(timer.clock());
            timer.counter.advance(to, prescaler, &mut self.pins);
        }
    }

    /// As [`refresh`](Self::refresh), after a change of how the timers run.
    pub(super) fn refresh_timers(&mut self) {
        for timer in &mut self.timers {
            let prescaler = self.prescalers.of(timer.clock());
            timer.counter.look_ahead(prescaler);
        }
        self.refresh();
    }

    #[inline]
    pub(super) fn route(&self, register: u16) -> Option<Route> {
        let place = *self.route_of.get(usize::from(register))?;
        Some(self.routes[usize::from(place).checked_sub(1)?].1)
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

    /// Works out anew what is asked for and what comes next.
    #[inline]
    pub(super) fn refresh(&mut self) {
        let mut pending: Option<Request> = None;
        // The lower vector has priority.
        let mut ask = |vector, source, since| {
            if pending.is_none_or(|known| vector < known.vector) {
                pending = Some(Request {
                    vector,
                    source,
                    since,
                });
            }
        };
        let mut next = self.eeprom.next_event().min(self.watchdog.next_event());
        for (index, timer) in self.timers.iter().enumerate() {
            next = next.min(timer.counter.next_flag());
            let raised = timer.counter.flags & timer.counter.enabled;
            if raised != 0 {
                for &(flag, vector) in timer.vectors.iter().filter(|(flag, _)| raised & flag != 0) {
                    let since = timer.counter.raised_at[flag.trailing_zeros() as usize];
                    ask(vector, Source::Timer { index, flag }, Some(since));
                }
            }
        }
        if let Some(vector) = self.eeprom_vector.filter(|_| self.eeprom.interrupts()) {
            ask(vector, Source::EepromReady, None);
        }
        if let Some(vector) = self.watchdog_vector.filter(|_| self.watchdog.interrupts()) {
            ask(vector, Source::Watchdog, None);
        }
        for vector in self.external.requests(&self.pins, &self.control) {
            ask(vector, Source::External, None);
        }
        self.pending = pending;
        self.next = next;
    }

    /// Puts a level on a pin from outside, or lets go of it.
    pub fn drive(&mut self, pin: Pin, level: Option<bool>, at: Moment) {
        self.advance_timers(at);
        self.pins.set_external(pin, level, at);
        self.notice_inputs();
        self.refresh();
    }

    /// Tells the external interrupts of inputs that changed; whether there were any.
    pub(super) fn notice_inputs(&mut self) -> bool {
        let changed = self.pins.take_input_changes() & self.external.pins();
        if changed != 0 {
            self.external.notice(changed, &self.pins, &self.control);
        }
        changed != 0
    }

    pub(super) fn doubt(&mut self, at: Moment, doubt: Doubt) {
        if !self.doubts.iter().any(|known| known.doubt == doubt) {
            self.doubts.push(Doubted { at, doubt });
        }
    }
}
