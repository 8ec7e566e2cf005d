//! The part's peripherals behind its registers: who answers to which address, what asks for an
//! interrupt, and when something happens next.

use super::core::Bus;
use super::doubt::{Doubt, Doubted};
use super::eeprom::{Eeprom, EepromRegister};
use super::external::External;
use super::moment::Moment;
use super::part::{ClockChoices, Part};
use super::pin::Pin;
use super::pins::Pins;
use super::prescaler::Prescaler;
use super::timer::{Timer, TimerRegister};
use super::watchdog::Watchdog;
use crate::units::Hertz;

/// A write of the firmware to a peripheral's register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RegisterWrite {
    /// When it took effect.
    pub at: Moment,
    /// Data address.
    pub register: u16,
    pub value: u8,
}

/// Who answers to a register.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Route {
    Input(u8),
    Direction(u8),
    Latch(u8),
    Timer(usize, TimerRegister),
    /// TIMSK and TIFR, of one timer or several.
    TimerMasks,
    TimerFlags,
    Eeprom(EepromRegister),
    Watchdog,
    /// MCUSR.
    ResetFlags,
    /// GTCCR: prescaler resets, and control bits of the high-speed timer.
    Prescalers,
    /// PRR.
    PowerReduction,
    /// Bits that others look at: MCUCR, SMCR, what the external interrupts go by.
    Control,
    /// GIFR, EIFR, PCIFR.
    ExternalFlags,
    /// A peripheral that is not modelled; using it, by any of these bits, is reported.
    Foreign(&'static str, u8),
}

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

const POWER_ON_FLAG: u8 = 1 << 0;
const WATCHDOG_FLAG: u8 = 1 << 3;

/// Bits of GTCCR.
const SYNCHRONISE: u8 = 1 << 7;
const RESET_SYSTEM: u8 = 1 << 0;
const RESET_OWN: u8 = 1 << 1;

pub(super) struct Devices {
    pub pins: Pins,
    pub timers: Vec<Timer>,
    pub eeprom: Eeprom,
    pub watchdog: Watchdog,
    external: External,
    pub doubts: Vec<Doubted>,
    /// Every write to a register that a peripheral answers to, if wanted.
    pub writes: Option<Vec<RegisterWrite>>,
    /// Cycles for which the last access halts the processor.
    pub halt: u64,

    routes: Vec<(u16, Route)>,
    /// Index into `routes` by data address, one more than the place; 0 is none.
    route_of: Vec<u8>,
    /// Last value written to the registers that are plain bits.
    control: Vec<u8>,
    reset_flags: u8,
    system_prescaler: Prescaler,
    own_prescaler: Prescaler,
    sleep: SleepBits,
    pull_up_disable: Option<(u16, u8)>,
    /// PRTIMn by timer.
    power_bits: Vec<Option<u8>>,
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
        let power_bits = timers
            .iter()
            .map(|t| {
                part.value(&[&format!("PRTIM{}", t.number)])
                    .map(|bit| 1 << bit)
            })
            .collect();
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
            reset_flags: POWER_ON_FLAG,
            system_prescaler: Prescaler::default(),
            own_prescaler: Prescaler::default(),
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

    /// Registers to their initial values. The watchdog's own reset leaves it running.
    pub fn reset(&mut self, at: Moment, by_watchdog: bool) {
        for timer in &mut self.timers {
            let prescaler = prescaler(timer, &self.system_prescaler, &self.own_prescaler);
            timer.reset(at, prescaler, &mut self.pins);
        }
        self.pins.reset(at);
        self.system_prescaler.reset(at, false);
        self.own_prescaler.reset(at, false);
        self.eeprom.reset();
        self.external.reset();
        self.watchdog.reset(at, by_watchdog);
        self.control.fill(0);
        if by_watchdog {
            self.reset_flags |= WATCHDOG_FLAG;
        }
        self.refresh();
    }

    /// Power comes back: only what the EEPROM holds has survived.
    pub fn power_up(&mut self, at: Moment) {
        self.reset(at, false);
        self.reset_flags = POWER_ON_FLAG;
    }

    /// The earliest moment at which a flag may rise by itself.
    #[inline]
    pub fn next_event(&self) -> Moment {
        self.next
    }

    /// The interrupt with the lowest vector among those asked for.
    #[inline]
    pub fn pending(&self) -> Option<Request> {
        self.pending
    }

    /// Runs everything up to `to`.
    pub fn advance(&mut self, to: Moment) -> Outcome {
        self.sync_timers(to);
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

    fn sync_timers(&mut self, to: Moment) {
        for timer in &mut self.timers {
            let prescaler = prescaler(timer, &self.system_prescaler, &self.own_prescaler);
            timer.counter.advance(to, prescaler, &mut self.pins);
        }
    }

    #[inline]
    fn route(&self, register: u16) -> Option<Route> {
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
    fn refresh(&mut self) {
        self.pending = None;
        let mut next = self.eeprom.next_event().min(self.watchdog.next_event());
        for index in 0..self.timers.len() {
            let timer = &self.timers[index];
            let prescaler = prescaler(timer, &self.system_prescaler, &self.own_prescaler);
            next = next.min(timer.counter.next_flag(prescaler));
            let raised = timer.counter.flags & timer.counter.enabled;
            if raised != 0 {
                for &(flag, vector) in timer.vectors.iter().filter(|(flag, _)| raised & flag != 0) {
                    let since = timer.counter.raised_at[flag.trailing_zeros() as usize];
                    let source = Source::Timer { index, flag };
                    propose(
                        &mut self.pending,
                        Request {
                            vector,
                            source,
                            since: Some(since),
                        },
                    );
                }
            }
        }
        if let Some(vector) = self.eeprom_vector.filter(|_| self.eeprom.interrupts()) {
            let source = Source::EepromReady;
            propose(
                &mut self.pending,
                Request {
                    vector,
                    source,
                    since: None,
                },
            );
        }
        if let Some(vector) = self.watchdog_vector.filter(|_| self.watchdog.interrupts()) {
            let source = Source::Watchdog;
            propose(
                &mut self.pending,
                Request {
                    vector,
                    source,
                    since: None,
                },
            );
        }
        for vector in self.external.requests(&self.pins, &self.control) {
            propose(
                &mut self.pending,
                Request {
                    vector,
                    source: Source::External,
                    since: None,
                },
            );
        }
        self.next = next;
    }

    /// Puts a level on a pin from outside, or lets go of it.
    pub fn drive(&mut self, pin: Pin, level: Option<bool>, at: Moment) {
        self.sync_timers(at);
        self.pins.set_external(pin, level, at);
        self.notice_inputs();
        self.refresh();
    }

    fn notice_inputs(&mut self) {
        let changed = self.pins.take_input_changes();
        if changed != 0 {
            self.external.notice(changed, &self.pins, &self.control);
        }
    }

    fn doubt(&mut self, at: Moment, doubt: Doubt) {
        if !self.doubts.iter().any(|known| known.doubt == doubt) {
            self.doubts.push(Doubted { at, doubt });
        }
    }

    fn write_prescalers(&mut self, register: u16, value: u8, at: Moment) {
        self.sync_timers(at);
        let hold = value & SYNCHRONISE != 0;
        if value & RESET_SYSTEM != 0 {
            self.system_prescaler.reset(at, hold);
        }
        if value & RESET_OWN != 0 {
            self.own_prescaler.reset(at, hold);
        }
        if !hold {
            self.system_prescaler.release(at);
            self.own_prescaler.release(at);
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
        self.check_holding(at);
    }

    /// The datasheets say in words that TSM halts the timers, and draw a prescaler whose reset does
    /// not reach the undivided clock.
    fn check_holding(&mut self, at: Moment) {
        let held = self.timers.iter().any(|timer| {
            let prescaler = prescaler(timer, &self.system_prescaler, &self.own_prescaler);
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
        for (timer, bit) in self.timers.iter_mut().zip(&self.power_bits) {
            if let Some(bit) = bit {
                timer.set_powered_down(value & bit != 0, at, &mut self.pins);
            }
        }
    }
}

impl Bus for Devices {
    fn read(&mut self, register: u16, at: Moment) -> u8 {
        match self.route(register) {
            Some(Route::Timer(index, register)) => {
                let timer = &mut self.timers[index];
                let prescaler = prescaler(timer, &self.system_prescaler, &self.own_prescaler);
                timer.counter.advance(at, prescaler, &mut self.pins);
                self.timers[index].read(register)
            }
            Some(Route::Input(_) | Route::TimerFlags) => {
                self.sync_timers(at);
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
                self.sync_timers(at);
                match route {
                    Route::Input(port) => self.pins.toggle_latches(port, value, at),
                    Route::Direction(port) => self.pins.write_directions(port, value, at),
                    Route::Latch(port) => self.pins.write_latches(port, value, at),
                    _ => unreachable!("matched above"),
                }
                self.notice_inputs();
            }
            Route::Timer(index, register) => {
                let timer = &mut self.timers[index];
                let prescaler = prescaler(timer, &self.system_prescaler, &self.own_prescaler);
                timer.counter.advance(at, prescaler, &mut self.pins);
                timer.write(register, value, at, &mut self.pins);
                if timer.only_buffers(register) {
                    return;
                }
                self.check_holding(at);
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
            }
            Route::TimerFlags => {
                self.sync_timers(at);
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
                self.watchdog.held_on &= self.reset_flags & WATCHDOG_FLAG != 0;
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

/// The prescaler that clocks a timer; a timer that counts the system clock by itself needs none.
fn prescaler<'a>(timer: &Timer, system: &'a Prescaler, own: &'a Prescaler) -> &'a Prescaler {
    match timer.clock() {
        ClockChoices::System => system,
        ClockChoices::Own | ClockChoices::Binary => own,
    }
}

/// Keeps the request with the lower vector, which has priority.
fn propose(pending: &mut Option<Request>, request: Request) {
    if pending.is_none_or(|known| request.vector < known.vector) {
        *pending = Some(request);
    }
}

/// Peripherals that the machine does not have, with the bits that put them to use.
const FOREIGN: [(&str, u8); 8] = [
    ("ADCSRA", 1 << 7),
    ("ACSR", 1 << 3),
    ("UCSRB", 0xF8),
    ("UCSR0B", 0xF8),
    ("UCSR1B", 0xF8),
    ("SPCR", 1 << 6),
    ("TWCR", 1 << 2),
    ("USICR", 0xFF),
];

fn routes(part: &Part, timers: &[Timer], external: &External) -> Vec<(u16, Route)> {
    let mut routes: Vec<(u16, Route)> = Vec::new();
    let mut add = |names: &[&str], route: Route| {
        if let Some(address) = part.value(names) {
            routes.push((address, route));
        }
    };
    for (port, letter) in ('A'..='F').enumerate() {
        let port = port as u8;
        add(&[&format!("PIN{letter}")], Route::Input(port));
        add(&[&format!("DDR{letter}")], Route::Direction(port));
        add(&[&format!("PORT{letter}")], Route::Latch(port));
    }
    add(&["EECR"], Route::Eeprom(EepromRegister::Control));
    add(&["EEDR"], Route::Eeprom(EepromRegister::Data));
    add(
        &["EEARL", "EEAR"],
        Route::Eeprom(EepromRegister::AddressLow),
    );
    add(&["EEARH"], Route::Eeprom(EepromRegister::AddressHigh));
    add(&["WDTCSR", "WDTCR"], Route::Watchdog);
    add(&["MCUSR"], Route::ResetFlags);
    add(&["GTCCR"], Route::Prescalers);
    add(&["PRR", "PRR0"], Route::PowerReduction);
    add(&["PRR1"], Route::PowerReduction);
    add(&["MCUCR"], Route::Control);
    add(&["SMCR"], Route::Control);
    for (name, bits) in FOREIGN {
        add(&[name], Route::Foreign(name, bits));
    }
    for (index, timer) in timers.iter().enumerate() {
        let own = timer
            .registers
            .iter()
            .map(|(a, register)| (*a, Route::Timer(index, *register)));
        routes.extend(own);
        routes.push((timer.mask_register, Route::TimerMasks));
        routes.push((timer.flag_register, Route::TimerFlags));
    }
    routes.extend(
        external
            .control_registers()
            .into_iter()
            .map(|a| (a, Route::Control)),
    );
    routes.extend(
        external
            .flag_registers()
            .into_iter()
            .map(|a| (a, Route::ExternalFlags)),
    );
    routes.sort_by_key(|(address, _)| *address);
    routes.dedup();
    routes
}
