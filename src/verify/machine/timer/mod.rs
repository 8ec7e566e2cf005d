//! The registers of a timer: what the firmware writes to them, decoded for the [`Counter`].

mod header;

use self::header::{channel_letters, own_registers, sources};
use super::compare::{Channel, OnMatch};
use super::counter::{Counter, Shape, Top};
use super::modes::{
    counting_mode, division, eight_bit_mode, high_speed_mode, may_toggle, sixteen_bit_mode,
};
use super::moment::Moment;
use super::pins::Pins;
use super::prescaler::Prescaler;
use super::silicon::{ClockChoices, Silicon, TimerKind, TimerSilicon};

/// A register of one timer alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum TimerRegister {
    ControlA,
    ControlB,
    ControlC,
    CountLow,
    CountHigh,
    /// OCRnx by channel.
    CompareLow(u8),
    CompareHigh(u8),
    /// ICRn, or OCR1C of the high-speed timer.
    LimitLow,
    LimitHigh,
}

/// A bit of a register that timers may share.
#[derive(Debug, Clone, Copy)]
struct SharedBit {
    bit: u16,
    flag: u8,
}

pub(super) struct Timer {
    pub number: u8,
    pub counter: Counter,
    /// Data addresses of the registers of this timer alone.
    pub registers: Vec<(u16, TimerRegister)>,
    /// TIMSK and TIFR, which it may share.
    pub mask_register: u16,
    pub flag_register: u16,
    /// Vector number by flag.
    pub vectors: Vec<(u8, u8)>,
    kind: TimerKind,
    clock: ClockChoices,
    mask_bits: Vec<SharedBit>,
    flag_bits: Vec<SharedBit>,
    control: [u8; 3],
    /// The byte that makes 16-bit accesses whole.
    temp: u8,
    /// PRR has its clock off.
    powered_down: bool,
}

impl Timer {
    /// The timer as the part's header and `silicon.yaml` give it, or `None` if the header lacks
    /// its registers.
    pub(super) fn of(part: &Silicon, silicon: &TimerSilicon, pins: &mut Pins) -> Option<Self> {
        let n = silicon.number;
        let letters = channel_letters(part, silicon);
        let channels = letters.iter().map(|letter| Channel {
            output: silicon.outputs.get(letter).map(|pin| pins.claim(*pin)),
            complement: silicon.complements.get(letter).map(|pin| pins.claim(*pin)),
            ..Channel::default()
        });
        let max = if silicon.kind == TimerKind::SixteenBit {
            0xFFFF
        } else {
            0xFF
        };
        let counter = Counter::new(max, channels.collect());
        let sources = sources(part, n, &letters);
        let shared = |names: [String; 2]| part.value(&[&names[0], &names[1]]);
        let mut timer = Self {
            number: n,
            counter,
            registers: own_registers(part, silicon, &letters)?,
            mask_register: shared([format!("TIMSK{n}"), "TIMSK".into()])?,
            flag_register: shared([format!("TIFR{n}"), "TIFR".into()])?,
            vectors: sources.iter().map(|s| (s.flag, s.vector)).collect(),
            kind: silicon.kind,
            clock: silicon.clock,
            mask_bits: sources
                .iter()
                .map(|s| SharedBit {
                    bit: s.enable,
                    flag: s.flag,
                })
                .collect(),
            flag_bits: sources
                .iter()
                .map(|s| SharedBit {
                    bit: s.raised,
                    flag: s.flag,
                })
                .collect(),
            control: [0; 3],
            temp: 0,
            powered_down: false,
        };
        timer.clear();
        Some(timer)
    }

    /// Which prescaler clocks it.
    pub(super) fn clock(&self) -> ClockChoices {
        self.clock
    }

    /// The pins of its compare outputs, one bit a pin.
    pub(super) fn pins(&self) -> u64 {
        let channels = self.counter.channels.iter();
        let outputs = channels.flat_map(|channel| [channel.output, channel.complement]);
        outputs.flatten().fold(0, |pins, claim| pins | claim.bit())
    }

    /// All registers to their initial values.
    pub(super) fn reset(&mut self, at: Moment, prescaler: &Prescaler, pins: &mut Pins) {
        self.counter.settle(at, prescaler, pins);
        self.clear();
        self.counter.connect(at, pins);
        self.counter.mark_periods(at, pins);
    }

    fn clear(&mut self) {
        (self.control, self.temp, self.powered_down) = ([0; 3], 0, false);
        let counter = &mut self.counter;
        for channel in &mut counter.channels {
            let (output, complement) = (channel.output, channel.complement);
            *channel = Channel {
                output,
                complement,
                ..Channel::default()
            };
        }
        // OCR1C of the high-speed timer starts at 0xFF, ICR at 0.
        counter.limit = if self.kind == TimerKind::HighSpeed {
            0xFF
        } else {
            0
        };
        (counter.flags, counter.enabled, counter.division) = (0, 0, 0);
        counter.set_count(0);
        counter.set_mode(Shape::Plain, Top::Fixed(counter.max));
    }

    /// Bits of the shared TIMSK that are this timer's.
    pub(super) fn mask(&self) -> u8 {
        gather(&self.mask_bits, self.counter.enabled)
    }

    /// Bits of the shared TIFR that are this timer's.
    pub(super) fn flags(&self) -> u8 {
        gather(&self.flag_bits, self.counter.flags)
    }

    pub(super) fn write_mask(&mut self, value: u8) {
        self.counter.enabled = scatter(&self.mask_bits, value);
    }

    /// Flags are cleared by writing ones.
    pub(super) fn write_flags(&mut self, value: u8) {
        self.counter.flags &= !scatter(&self.flag_bits, value);
    }

    pub(super) fn set_powered_down(&mut self, powered_down: bool, at: Moment, pins: &mut Pins) {
        if self.powered_down != powered_down {
            self.powered_down = powered_down;
            self.decode(at, pins);
        }
    }

    /// The register's value; the counter must have been settled at now.
    pub(super) fn peek(&self, register: TimerRegister) -> u8 {
        let counter = &self.counter;
        match register {
            TimerRegister::ControlA => self.control[0],
            TimerRegister::ControlB => self.control[1],
            TimerRegister::ControlC => self.control[2],
            TimerRegister::CountLow => counter.count() as u8,
            TimerRegister::CompareLow(channel) => counter.buffered(channel) as u8,
            TimerRegister::CompareHigh(channel) => (counter.buffered(channel) >> 8) as u8,
            TimerRegister::LimitLow => counter.limit as u8,
            TimerRegister::CountHigh | TimerRegister::LimitHigh => self.temp,
        }
    }

    /// As [`peek`](Self::peek), with what a read by the firmware does: reading the low byte of the
    /// counter or of ICR catches the high one ('Accessing 16-bit Registers').
    pub(super) fn read(&mut self, register: TimerRegister) -> u8 {
        match register {
            TimerRegister::CountLow => self.temp = (self.counter.count() >> 8) as u8,
            TimerRegister::LimitLow => self.temp = (self.counter.limit >> 8) as u8,
            _ => {}
        }
        self.peek(register)
    }

    /// Takes a write; the counter must have been settled at `at`, or advanced to it if the write
    /// [only buffers](Self::only_buffers).
    pub(super) fn write(
        &mut self,
        register: TimerRegister,
        value: u8,
        at: Moment,
        pins: &mut Pins,
    ) {
        let wide = self.kind == TimerKind::SixteenBit;
        let whole = if wide {
            u16::from_be_bytes([self.temp, value])
        } else {
            u16::from(value)
        };
        match register {
            TimerRegister::ControlA => self.control[0] = value,
            TimerRegister::ControlB => self.control[1] = value,
            TimerRegister::ControlC => self.control[2] = value,
            TimerRegister::CountLow => return self.counter.set_count(whole),
            TimerRegister::CompareLow(channel) => return self.counter.set_compare(channel, whole),
            TimerRegister::LimitLow => self.counter.limit = whole,
            TimerRegister::CountHigh | TimerRegister::CompareHigh(_) | TimerRegister::LimitHigh => {
                return self.temp = value;
            }
        }
        if self.kind == TimerKind::EightBit && register == TimerRegister::ControlB {
            self.force(value >> 7 & 1 != 0, value >> 6 & 1 != 0, at, pins);
        }
        self.decode(at, pins);
    }

    /// What of this value put into `register` is not modelled.
    pub(super) fn not_modelled(&self, register: TimerRegister, value: u8) -> Option<&'static str> {
        match (self.kind, register) {
            (TimerKind::Counting, TimerRegister::ControlA) if value & !1 != 0 => Some("TCCR0A"),
            (TimerKind::Counting, TimerRegister::ControlB) if value & !7 != 0 => Some("TCCR0B"),
            _ => None,
        }
    }

    /// Whether a write of `register` only waits for BOTTOM or TOP, and so changes nothing yet.
    pub(super) fn only_buffers(&self, register: TimerRegister) -> bool {
        let compare = matches!(
            register,
            TimerRegister::CompareLow(_) | TimerRegister::CompareHigh(_)
        );
        compare && self.counter.shape != Shape::Plain
    }

    fn force(&mut self, a: bool, b: bool, at: Moment, pins: &mut Pins) {
        self.control[1] &= 0x3F;
        if self.counter.shape == Shape::Plain {
            for (channel, _) in [a, b].iter().enumerate().filter(|(_, forced)| **forced) {
                self.counter.force_match(channel, at, pins);
            }
        }
    }

    /// Works out mode, outputs and clock from the control registers.
    fn decode(&mut self, at: Moment, pins: &mut Pins) {
        let [a, b, c] = self.control;
        let ((shape, top), select) = match self.kind {
            TimerKind::EightBit => (eight_bit_mode(a & 3 | b >> 1 & 4), b & 7),
            TimerKind::SixteenBit => (sixteen_bit_mode(a & 3 | b >> 1 & 12), b & 7),
            TimerKind::HighSpeed => (high_speed_mode(a, c), a & 0x0F),
            TimerKind::Counting => (counting_mode(a), b & 7),
        };
        let counter = &mut self.counter;
        if (counter.shape, counter.top) != (shape, top) {
            counter.set_mode(shape, top);
        }
        counter.zero_is_off = self.kind == TimerKind::HighSpeed;
        for index in 0..counter.channels.len() {
            let (com, pwm) = match (self.kind, index) {
                (TimerKind::HighSpeed, 0) => (a >> 4 & 3, a >> 6 & 1 != 0),
                (TimerKind::HighSpeed, _) => (c >> 4 & 3, c >> 6 & 1 != 0),
                (TimerKind::Counting, _) => (0, false),
                _ => (a >> (6 - 2 * index) & 3, shape != Shape::Plain),
            };
            let channel = &mut counter.channels[index];
            let paired = self.kind == TimerKind::HighSpeed && pwm && com == 1;
            channel.complement_connected = paired;
            channel.on_match = match com {
                0 => OnMatch::Nothing,
                1 if paired => OnMatch::Clear,
                // In a PWM mode only channel A toggles, and only where its register is not needed
                // otherwise: 'Compare Output Mode' tables.
                1 if pwm && !(index == 0 && may_toggle(self.kind, shape, top)) => OnMatch::Nothing,
                1 => OnMatch::Toggle,
                2 => OnMatch::Clear,
                _ => OnMatch::Set,
            };
        }
        let was_running = counter.division != 0;
        counter.division = if self.powered_down {
            0
        } else {
            division(self.clock, select)
        };
        counter.connect(at, pins);
        if was_running != (counter.division != 0) {
            counter.mark_periods(at, pins);
        }
    }

    /// GTCCR of the high-speed timer holds the control bits of its channel B.
    pub(super) fn write_shared_control(&mut self, value: u8, at: Moment, pins: &mut Pins) {
        if self.kind == TimerKind::HighSpeed {
            self.write(TimerRegister::ControlC, value, at, pins);
        }
    }
}

/// `flags` at their places in a shared register.
fn gather(bits: &[SharedBit], flags: u8) -> u8 {
    bits.iter()
        .filter(|b| flags & b.flag != 0)
        .fold(0, |value, b| value | 1 << b.bit)
}

/// The flags whose places in a shared register's `value` are set.
fn scatter(bits: &[SharedBit], value: u8) -> u8 {
    bits.iter()
        .filter(|b| value >> b.bit & 1 != 0)
        .fold(0, |flags, b| flags | b.flag)
}
