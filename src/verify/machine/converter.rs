//! The analogue-to-digital converter (datasheets, 'Analog to Digital Converter'; from memory): a conversion takes
//! 13 of its clocks, the first after it was switched on 25; it samples its channel 1.5 of them after its start, or
//! 13.5. Running free it converts again and again. Voltages are shares of the supply, its only reference here.

use std::collections::BTreeMap;

use serde::Deserialize;

use super::moment::Moment;
use super::pin::Pin;
use super::silicon::Silicon;

const ENABLE: u8 = 1 << 7;
const START: u8 = 1 << 6;
const AGAIN: u8 = 1 << 5;
const FLAG: u8 = 1 << 4;
const INTERRUPT: u8 = 1 << 3;
const PRESCALER: u8 = 0b111;

/// Halves of its clock from a start to the sample and to the end: of the first conversion, and of others.
const FIRST: [u64; 2] = [27, 50];
const OTHERS: [u64; 2] = [3, 26];

/// A part's converter, in `silicon.yaml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ConverterSilicon {
    /// Pins of channels 0, 1 and so on; `-` for one that has none.
    pub channels: Vec<String>,
    /// The channel of the chip's own reference.
    pub bandgap: Option<u8>,
    /// The bits of ADMUX that choose the channel.
    pub mux: u8,
    /// What the other bits but ADLAR must be for the supply to be the reference.
    pub supply: u8,
    /// The register with ADLAR.
    pub left: String,
    /// Section of the datasheet.
    #[cfg_attr(not(test), expect(dead_code, reason = "for people and tests"))]
    pub source: String,
}

/// Its registers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum ConverterRegister {
    Multiplexer,
    Control,
    /// ADCSRB.
    Trigger,
    Low,
    High,
}

/// What the firmware may not ask of it here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unsaid {
    Reference,
    Interrupt,
    Trigger,
}

#[derive(Debug, Clone, Copy)]
struct Conversion {
    channel: u8,
    samples: Moment,
    ends: Moment,
    /// What was sampled.
    value: Option<u16>,
}

/// The converter of a part. One that has none is never switched on.
#[derive(Debug, Default)]
pub(super) struct Converter {
    silicon: Option<ConverterSilicon>,
    adlar: u8,
    /// Its voltages, as shares of the supply, by channel.
    inputs: BTreeMap<u8, f64>,
    multiplexer: u8,
    control: u8,
    trigger: u8,
    /// When it was switched on, from which its clock runs.
    since: Moment,
    /// No conversion has ended since.
    fresh: bool,
    running: Option<Conversion>,
    result: u16,
    /// The channel of the result, once there is one.
    shown: Option<u8>,
    /// What the firmware has read of ADCH last, by channel.
    pub read: BTreeMap<u8, u8>,
}

impl Converter {
    pub(super) fn of(part: &Silicon) -> Self {
        let adlar = part.value(&["ADLAR"]).map_or(0, |bit| 1 << bit);
        Self {
            silicon: part.converter.clone(),
            adlar,
            ..Self::default()
        }
    }

    /// All registers are 0; what is at the pins stays.
    pub(super) fn reset(&mut self) {
        *self = Self {
            silicon: self.silicon.take(),
            adlar: self.adlar,
            inputs: std::mem::take(&mut self.inputs),
            ..Self::default()
        };
    }

    /// Puts a share of the supply at a pin. `false`: it has no channel.
    pub(super) fn apply(&mut self, pin: Pin, share: f64) -> bool {
        let channels = self.silicon.iter().flat_map(|silicon| &silicon.channels);
        let mut named = channels.enumerate();
        let found = named.find(|(_, name)| name.parse() == Ok(pin));
        let Some((channel, _)) = found else {
            return false;
        };
        self.inputs.insert(channel as u8, share);
        true
    }

    /// The chip's own reference, as a share of the supply.
    pub(super) fn set_bandgap(&mut self, share: f64) {
        if let Some(channel) = self.silicon.as_ref().and_then(|silicon| silicon.bandgap) {
            self.inputs.insert(channel, share);
        }
    }

    pub(super) fn is_on(&self) -> bool {
        self.control & ENABLE != 0
    }

    /// Its clock stops: what was being converted is lost.
    pub(super) fn stop(&mut self, at: Moment) {
        self.advance(at);
        self.running = None;
    }

    /// All that ends by `to`.
    pub(super) fn advance(&mut self, to: Moment) {
        while let Some(conversion) = &mut self.running {
            if conversion.samples <= to && conversion.value.is_none() {
                let share = self.inputs.get(&conversion.channel).copied().unwrap_or(0.0);
                conversion.value = Some((share * 1024.0).floor().clamp(0.0, 1023.0) as u16);
            }
            let Some(value) = conversion.value.filter(|_| conversion.ends <= to) else {
                return;
            };
            (self.result, self.shown) = (value, Some(conversion.channel));
            let ended = conversion.ends;
            (self.running, self.fresh) = (None, false);
            self.control = self.control & !START | FLAG;
            if self.control & AGAIN != 0 {
                self.start(ended);
            }
        }
    }

    fn start(&mut self, at: Moment) {
        let half = 1 << (self.control & PRESCALER).max(1) >> 1;
        let since = at - self.since;
        let edge = self.since + since.next_multiple_of(2 * half);
        let [sample, end] = if self.fresh { FIRST } else { OTHERS };
        self.control |= START;
        self.running = Some(Conversion {
            channel: self.multiplexer & self.silicon.as_ref().map_or(0, |silicon| silicon.mux),
            samples: edge + sample * half,
            ends: edge + end * half,
            value: None,
        });
    }

    fn is_left(&self) -> bool {
        let register = match self.silicon.as_ref().map(|silicon| silicon.left.as_str()) {
            Some("ADCSRB") => self.trigger,
            _ => self.multiplexer,
        };
        register & self.adlar != 0
    }

    pub(super) fn peek(&self, register: ConverterRegister) -> u8 {
        let result = if self.is_left() {
            self.result << 6
        } else {
            self.result
        };
        let [low, high] = result.to_le_bytes();
        match register {
            ConverterRegister::Multiplexer => self.multiplexer,
            ConverterRegister::Control => self.control,
            ConverterRegister::Trigger => self.trigger,
            ConverterRegister::Low => low,
            ConverterRegister::High => high,
        }
    }

    pub(super) fn take(&mut self, register: ConverterRegister, at: Moment) -> u8 {
        self.advance(at);
        let value = self.peek(register);
        if let (ConverterRegister::High, Some(channel)) = (register, self.shown) {
            self.read.insert(channel, value);
        }
        value
    }

    /// What it is asked that is not modelled.
    pub(super) fn write(
        &mut self,
        register: ConverterRegister,
        value: u8,
        at: Moment,
    ) -> Option<Unsaid> {
        self.advance(at);
        match register {
            ConverterRegister::Multiplexer => self.multiplexer = value,
            ConverterRegister::Trigger => self.trigger = value,
            ConverterRegister::Control => self.write_control(value, at),
            ConverterRegister::Low | ConverterRegister::High => {}
        }
        let silicon = self.silicon.as_ref()?;
        let adlar = if silicon.left == "ADMUX" {
            self.adlar
        } else {
            0
        };
        let reference = self.multiplexer & !silicon.mux & !adlar;
        let adlar = if silicon.left == "ADCSRB" {
            self.adlar
        } else {
            0
        };
        if !self.is_on() {
            None
        } else if reference != silicon.supply {
            Some(Unsaid::Reference)
        } else if self.control & INTERRUPT != 0 {
            Some(Unsaid::Interrupt)
        } else {
            (self.trigger & !adlar != 0).then_some(Unsaid::Trigger)
        }
    }

    fn write_control(&mut self, value: u8, at: Moment) {
        let was_on = self.is_on();
        let flag = self.control & FLAG & !value;
        let started = self.control & START;
        self.control = value & !(FLAG | START) | flag | started;
        if !self.is_on() {
            self.running = None;
            self.control &= !START;
        } else if !was_on {
            (self.since, self.fresh) = (at, true);
        }
        if self.is_on() && value & START != 0 && self.running.is_none() {
            self.start(at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn converter() -> Converter {
        let mut converter = Converter {
            silicon: Some(ConverterSilicon {
                channels: ["PB5", "PB2", "PB4"].map(String::from).to_vec(),
                bandgap: Some(12),
                mux: 0x0F,
                supply: 0,
                left: "ADMUX".into(),
                source: String::new(),
            }),
            adlar: 1 << 5,
            ..Converter::default()
        };
        let pin = |name: &str| name.parse().expect("a pin");
        assert!(converter.apply(pin("PB2"), 0.25));
        assert!(converter.apply(pin("PB4"), 1.0));
        assert!(!converter.apply(pin("PB0"), 0.5), "no channel");
        converter
    }

    const BY_64: u8 = 6;

    #[test]
    fn the_first_takes_25_of_its_clocks_and_others_13() {
        let mut converter = converter();
        converter.write(ConverterRegister::Multiplexer, 1 << 5 | 1, Moment(0));
        converter.write(
            ConverterRegister::Control,
            ENABLE | START | AGAIN | BY_64,
            Moment(10),
        );
        assert_eq!(
            converter.take(ConverterRegister::High, Moment(10 + 25 * 64 - 1)),
            0
        );
        assert_eq!(
            converter.take(ConverterRegister::High, Moment(10 + 25 * 64)),
            64
        );
        converter.write(
            ConverterRegister::Multiplexer,
            1 << 5 | 2,
            Moment(10 + 26 * 64),
        );
        let second = 10 + 38 * 64;
        assert_eq!(
            converter.take(ConverterRegister::High, Moment(second)),
            64,
            "begun before"
        );
        assert_eq!(
            converter.take(ConverterRegister::High, Moment(second + 13 * 64 - 1)),
            64
        );
        assert_eq!(
            converter.take(ConverterRegister::High, Moment(second + 13 * 64)),
            255
        );
        assert_eq!(converter.read, BTreeMap::from([(1, 64), (2, 255)]));
    }

    #[test]
    fn it_takes_the_voltage_of_one_moment() {
        let mut converter = converter();
        converter.write(ConverterRegister::Multiplexer, 1, Moment(0));
        converter.write(
            ConverterRegister::Control,
            ENABLE | START | BY_64,
            Moment(0),
        );
        let samples = 27 * 32;
        converter.advance(Moment(samples));
        converter.apply("PB2".parse().expect("a pin"), 0.75);
        let [low, high] = [ConverterRegister::Low, ConverterRegister::High];
        converter.advance(Moment(25 * 64));
        assert_eq!(
            (converter.peek(low), converter.peek(high)),
            (0, 1),
            "256 of 1024"
        );
        assert_eq!(
            converter.peek(ConverterRegister::Control) & START,
            0,
            "it is done"
        );
    }

    #[test]
    fn another_reference_is_not_modelled() {
        let mut converter = converter();
        let mut write = |register, value| converter.write(register, value, Moment(5));
        assert_eq!(write(ConverterRegister::Multiplexer, 1 << 7), None, "off");
        let on = ENABLE | BY_64;
        assert_eq!(
            write(ConverterRegister::Control, on),
            Some(Unsaid::Reference)
        );
        assert_eq!(write(ConverterRegister::Multiplexer, 1 << 5), None);
        let asks = Some(Unsaid::Interrupt);
        assert_eq!(write(ConverterRegister::Control, on | INTERRUPT), asks);
    }
}
