//! Timers as the planner sees them: which bits in which registers make them run.
//!
//! A chip's data file gives a timer a number and a *style*; `data/timers.yaml` says once, per style,
//! what the registers and bits are called. [`Timer`] is the two put together.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use serde::Deserialize;

use super::Pin;

/// Bits to set, by register.
pub type Bits = BTreeMap<String, Vec<String>>;

/// A timer that can make 8-bit PWM, or one that only counts, which has no outputs.
#[derive(Debug, Deserialize)]
#[serde(try_from = "Written")]
pub struct Timer {
    pub number: u8,
    /// The style's name in `data/timers.yaml`.
    pub style: String,
    /// The counter to preset, `TCNT0`.
    pub counter: String,
    pub overflow: Event,
    /// Where the count matches compare register A. `None`: nothing here needs it.
    pub matched: Option<Event>,
    /// The register whose clock bits start the timer.
    pub clock_register: String,
    /// Clock bits by what the clock is divided by.
    pub prescalers: BTreeMap<u16, Vec<String>>,
    /// Bits of fast PWM with TOP 255.
    pub fast: Bits,
    /// Bits of phase-correct PWM with TOP 255; `None`: it has none.
    pub phase_correct: Option<Bits>,
    /// Bits that clear the counter where it matches compare register A.
    pub clear: Option<Bits>,
    /// Compare register A, `OCR0A`. `None`: its only one has no letter.
    pub compare: Option<String>,
    /// Registers that need a value of their own (TOP, high bytes), in the order to write them.
    pub values: Vec<(String, u8)>,
    /// Inverting, the output is on for 256 counts, not 255, where the compare register is 0.
    pub full_at_zero: bool,
    pub outputs: Vec<Output>,
}

/// An interrupt of a timer.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Event {
    /// As avr-libc names it.
    pub vector: String,
    pub number: u8,
    /// Register and bit that let it through.
    pub enable: [String; 2],
    /// Register and bit that show it.
    pub flag: [String; 2],
}

/// One compare output.
#[derive(Debug)]
pub struct Output {
    /// `OC0A`.
    pub name: String,
    pub pin: Pin,
    /// The register that holds the 8-bit compare value: `OCR0A`, `OCR1AL`.
    pub compare: String,
    inverting: Bits,
    non_inverting: Bits,
}

/// What the pin does while the count is above the compare value.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Polarity {
    /// High above the compare value: for strings that light when the pin is high.
    Inverting,
    /// Low above the compare value: for strings that light when the pin is low.
    NonInverting,
}

impl Output {
    /// The registers that connect it.
    pub fn registers(&self) -> impl Iterator<Item = &String> {
        self.inverting.keys()
    }

    /// The bits that connect the output in this polarity.
    pub fn bits(&self, polarity: Polarity) -> &Bits {
        match polarity {
            Polarity::Inverting => &self.inverting,
            Polarity::NonInverting => &self.non_inverting,
        }
    }
}

/// A timer in a chip's data file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    number: u8,
    style: String,
    overflow: Event,
    matched: Option<Event>,
    /// Letter of the compare unit (`""` where there is but one) and its pin, in order.
    outputs: Vec<(String, Pin)>,
}

/// A style in `data/timers.yaml`; `#` stands for the timer's number.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Style {
    counter: String,
    clock_register: String,
    prescalers: BTreeMap<u16, Vec<String>>,
    #[serde(default)]
    fast: Bits,
    phase_correct: Option<Bits>,
    clear: Option<Bits>,
    /// Compare register A, where it has no output.
    compare: Option<String>,
    #[serde(default)]
    values: Vec<(String, u8)>,
    #[serde(default)]
    full_at_zero: bool,
    outputs: BTreeMap<String, StyleOutput>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct StyleOutput {
    compare: String,
    inverting: Bits,
    non_inverting: Bits,
}

fn styles() -> &'static BTreeMap<String, Style> {
    static STYLES: OnceLock<BTreeMap<String, Style>> = OnceLock::new();
    STYLES.get_or_init(|| {
        read_styles(include_str!("data/timers.yaml")).expect("timers.yaml is tested")
    })
}

fn read_styles(yaml: &str) -> Result<BTreeMap<String, Style>, serde_yaml::Error> {
    let mut value: serde_yaml::Value = serde_yaml::from_str(yaml)?;
    value.apply_merge()?;
    serde_yaml::from_value(value)
}

impl TryFrom<Written> for Timer {
    type Error = String;

    fn try_from(written: Written) -> Result<Self, String> {
        let style = styles()
            .get(&written.style)
            .ok_or_else(|| format!("no timer style is called `{}`", written.style))?;
        let number = written.number.to_string();
        let name = |text: &String| text.replace('#', &number);
        let names = |texts: &Vec<String>| texts.iter().map(name).collect::<Vec<_>>();
        let bits = |bits: &Bits| {
            bits.iter()
                .map(|(reg, bits)| (name(reg), names(bits)))
                .collect()
        };
        let output = |(letter, pin): &(String, Pin)| {
            let unit = style
                .outputs
                .get(letter)
                .ok_or_else(|| format!("style `{}` has no output `{letter}`", written.style))?;
            Ok::<_, String>(Output {
                name: format!("OC{number}{letter}"),
                pin: *pin,
                compare: name(&unit.compare),
                inverting: bits(&unit.inverting),
                non_inverting: bits(&unit.non_inverting),
            })
        };
        Ok(Self {
            number: written.number,
            counter: name(&style.counter),
            clock_register: name(&style.clock_register),
            prescalers: style
                .prescalers
                .iter()
                .map(|(&by, bits)| (by, names(bits)))
                .collect(),
            fast: bits(&style.fast),
            phase_correct: style.phase_correct.as_ref().map(bits),
            clear: style.clear.as_ref().map(bits),
            compare: style
                .compare
                .as_ref()
                .or_else(|| style.outputs.get("A").map(|unit| &unit.compare))
                .map(name),
            values: style
                .values
                .iter()
                .map(|(reg, value)| (name(reg), *value))
                .collect(),
            full_at_zero: style.full_at_zero,
            outputs: written
                .outputs
                .iter()
                .map(output)
                .collect::<Result<_, _>>()?,
            overflow: written.overflow,
            matched: written.matched,
            style: written.style,
        })
    }
}
