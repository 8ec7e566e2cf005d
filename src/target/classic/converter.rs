//! The analogue-to-digital converter.

use crate::chip::{Chip, Converter};
use crate::target::Write;
use crate::units::Hertz;

const CHOOSE: &str = "ADMUX";
const CONTROL: &str = "ADCSRA";
pub(in crate::target) const RESULT: &str = "ADCH";
const ENABLE: &str = "ADEN";
const START: &str = "ADSC";
const CHANNEL: [&str; 6] = ["MUX0", "MUX1", "MUX2", "MUX3", "MUX4", "MUX5"];
const PRESCALER: [&str; 3] = ["ADPS0", "ADPS1", "ADPS2"];

/// A conversion takes so many of its clocks, the first 25.
const CONVERSION: f64 = 13.0;

/// The fastest clock at which all ten bits are right (datasheets, 'Prescaling and Conversion Timing').
const FASTEST: f64 = 200e3;

/// Has it convert a channel against the supply, with the high bits of the result in one register.
pub(in crate::target) fn choose(chip: &'static Chip, with: &Converter, channel: u8) -> Write {
    let [register, left] = &with.left;
    let supply = with.supply.get(CHOOSE).into_iter().flatten();
    let left = Some(left).filter(|_| register == CHOOSE);
    let number = CHANNEL.iter().enumerate();
    let number = number.filter(|(bit, _)| channel & 1 << bit != 0);
    let bits = supply.chain(left).map(String::as_str);
    let bits: Vec<&str> = bits.chain(number.map(|(_, name)| *name)).collect();
    Write::bits(chip, CHOOSE, &bits)
}

/// What is written before it is set going, besides the channel.
pub(in crate::target) fn prepare(
    chip: &'static Chip,
    with: &Converter,
    channels: &[u8],
) -> Vec<Write> {
    let quiet = chip.registers.iter().filter_map(|(name, register)| {
        let names = channels.iter().map(|channel| format!("ADC{channel}D"));
        let bits: Vec<String> = names.filter(|bit| register.bit(bit).is_some()).collect();
        let bits: Vec<&str> = bits.iter().map(String::as_str).collect();
        (!bits.is_empty()).then(|| Write::bits(chip, name, &bits))
    });
    let [register, left] = &with.left;
    let apart = (register != CHOOSE).then(|| Write::bits(chip, register, &[left]));
    quiet.chain(apart).collect()
}

/// Sets it going, one conversion after the other, and how many a second that makes.
pub(in crate::target) fn go(chip: &'static Chip, with: &Converter, clock: Hertz) -> (Write, Hertz) {
    // By 2, to the power of this.
    let prescaler = (clock.0 / FASTEST).log2().ceil().clamp(1.0, 7.0) as u8;
    let rate = Hertz(clock.0 / f64::from(1 << prescaler) / CONVERSION);
    let divides = PRESCALER.iter().enumerate();
    let divides = divides.filter(|(bit, _)| prescaler & 1 << bit != 0);
    let mut bits = vec![ENABLE, START, with.again.as_str()];
    bits.extend(divides.map(|(_, name)| *name));
    (Write::bits(chip, CONTROL, &bits), rate)
}

/// The same once, and the number of the bit that is set until it has converted.
pub(in crate::target) fn once(chip: &'static Chip, with: &Converter, go: Write) -> (Write, u8) {
    let bits: Vec<&str> = go
        .bits
        .into_iter()
        .filter(|bit| *bit != with.again)
        .collect();
    let started = Write::bits(chip, CONTROL, &[START]).value;
    (
        Write::bits(chip, CONTROL, &bits),
        started.trailing_zeros() as u8,
    )
}

pub(in crate::target) fn off(chip: &'static Chip) -> Write {
    Write::number(chip, CONTROL, 0)
}
