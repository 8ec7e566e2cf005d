//! What is known about a part: its registers as avr-libc's header for it gives them, and what no
//! header says (`silicon.yaml`). Nothing here comes from duskloom's own chip data, so that a slip
//! in one of the two shows up as a disagreement.

use std::collections::BTreeMap;
use std::fmt;
use std::io::Write;
use std::path::Path;
use std::process::{Command, Stdio};
use std::sync::{LazyLock, Mutex};

use object::{Object, ObjectSymbol};
use serde::Deserialize;

use super::converter::ConverterSilicon;
use super::core::Geometry;
use super::pin::Pin;

/// A part the machine can be.
#[derive(Debug, Clone)]
pub struct Silicon {
    /// As avr-gcc's `-mmcu` takes it.
    pub name: String,
    pub geometry: Geometry,
    /// Instruction set, as in [`Firmware::instruction_set`](crate::verify::Firmware).
    pub instruction_set: u32,
    pub(super) timers: Vec<TimerSilicon>,
    pub(super) external: Vec<Pin>,
    pub(super) pin_change: Vec<char>,
    pub(super) converter: Option<ConverterSilicon>,
    registers: BTreeMap<String, u16>,
}

/// Entry of `silicon.yaml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
struct SiliconEntry {
    parts: Vec<String>,
    #[cfg_attr(not(test), expect(dead_code, reason = "for people and tests"))]
    source: Source,
    /// Pins of INT0, INT1 and so on.
    external: Vec<Pin>,
    /// Ports of PCMSK0, PCMSK1 and so on.
    pin_change: Vec<char>,
    timers: Vec<TimerSilicon>,
    #[serde(default)]
    converter: Option<ConverterSilicon>,
}

/// Which document says so, and where in it.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(not(test), expect(dead_code, reason = "for people and tests"))]
struct Source {
    datasheet: String,
    external: String,
    pin_change: String,
}

/// A timer of `silicon.yaml`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct TimerSilicon {
    pub number: u8,
    pub kind: TimerKind,
    pub clock: ClockChoices,
    /// Compare output by channel letter.
    pub outputs: BTreeMap<char, Pin>,
    /// Inverted compare output by channel letter.
    #[serde(default)]
    pub complements: BTreeMap<char, Pin>,
    /// Section of the datasheet.
    #[cfg_attr(not(test), expect(dead_code, reason = "for people and tests"))]
    source: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum TimerKind {
    EightBit,
    SixteenBit,
    HighSpeed,
    Counting,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum ClockChoices {
    System,
    Own,
    Binary,
}

static SILICON: LazyLock<Vec<SiliconEntry>> = LazyLock::new(|| {
    serde_yaml::from_str(include_str!("silicon.yaml")).expect("silicon.yaml is part of the program")
});

/// Parts looked up so far: asking the compiler takes some ten milliseconds.
static KNOWN: Mutex<BTreeMap<String, Silicon>> = Mutex::new(BTreeMap::new());

impl Silicon {
    /// The part that avr-gcc calls `mcu`.
    pub fn named(mcu: &str) -> Result<Self, SiliconError> {
        let mut known = KNOWN
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        if let Some(part) = known.get(mcu) {
            return Ok(part.clone());
        }
        let part = Self::look_up(mcu)?;
        known.insert(mcu.to_string(), part.clone());
        Ok(part)
    }

    /// Whether it has a model of a timer.
    pub fn has_timer(&self, number: u8) -> bool {
        self.timers.iter().any(|timer| timer.number == number)
    }

    /// The parts that can be simulated, as avr-gcc names them.
    pub fn names() -> impl Iterator<Item = &'static str> {
        SILICON.iter().flat_map(|s| &s.parts).map(String::as_str)
    }

    fn look_up(mcu: &str) -> Result<Self, SiliconError> {
        let silicon = SILICON
            .iter()
            .find(|s| s.parts.iter().any(|p| p == mcu))
            .ok_or_else(|| SiliconError::Unknown(mcu.to_string()))?;
        let registers = read_header(mcu)?;
        let need = |name: &str| {
            registers
                .get(name)
                .copied()
                .ok_or_else(|| SiliconError::Incomplete {
                    part: mcu.to_string(),
                    register: name.to_string(),
                })
        };
        let geometry = Geometry {
            flash_end: u32::from(need("FLASHEND")?),
            ram_start: need("RAMSTART")?,
            ram_end: need("RAMEND")?,
            eeprom_size: need("E2END")? + 1,
        };
        Ok(Self {
            name: mcu.to_string(),
            geometry,
            instruction_set: u32::from(need("__AVR_ARCH__")?),
            timers: silicon.timers.clone(),
            external: silicon.external.clone(),
            pin_change: silicon.pin_change.clone(),
            converter: silicon.converter.clone(),
            registers,
        })
    }

    /// The part's compare outputs: number of the timer, letter of the channel, pin.
    pub fn outputs(&self) -> impl Iterator<Item = (u8, char, Pin)> + '_ {
        self.timers.iter().flat_map(|timer| {
            timer
                .outputs
                .iter()
                .map(|(channel, pin)| (timer.number, *channel, *pin))
        })
    }

    /// The value of the first of these names that the part's header defines: a register's data
    /// address, a bit's place, or a vector's number.
    pub(super) fn value(&self, names: &[&str]) -> Option<u16> {
        names
            .iter()
            .find_map(|name| self.registers.get(*name))
            .copied()
    }

    /// Bytes from one interrupt vector to the next: an RJMP where it reaches all of the flash, else
    /// a JMP (datasheets, 'Interrupt Vectors').
    pub(super) fn vector_size(&self) -> u32 {
        if self.geometry.flash_end > 0x1FFF {
            4
        } else {
            2
        }
    }
}

/// The names that the machine may want from a header; each part has some of them.
fn wanted() -> Vec<String> {
    let mut names: Vec<String> = [
        "FLASHEND RAMSTART RAMEND E2END __AVR_ARCH__",
        "MCUCR MCUSR SMCR GTCCR PRR PRR0 PRR1 TIMSK TIFR WDTCR WDTCSR EECR EEDR EEARL EEARH",
        "SE SM0 SM1 SM2 SLEEP_MODE_PWR_DOWN PUD EE_RDY_vect_num EE_READY_vect_num EEPROM_Ready_vect_num",
        "WDT_vect_num WATCHDOG_vect_num WDT_OVERFLOW_vect_num",
        "GIMSK GIFR EIMSK EIFR EICRA PCICR PCIFR PCMSK PCIE PCIF PCINT_vect_num EXT_INT0_vect_num",
        "BODCR BODS BODSE BPDS BPDSE",
        "GPIOR0 GPIOR1 GPIOR2 ADMUX ADCSRA ADCSRB ADCL ADCH ADLAR ACSR UCSRB UCSR0B UCSR1B SPCR TWCR USICR CLKPR PLLCSR",
    ]
    .join(" ")
    .split(' ')
    .map(String::from)
    .collect();
    for letter in 'A'..='F' {
        names.extend(["PIN", "DDR", "PORT"].map(|register| format!("{register}{letter}")));
    }
    for n in 0..=4 {
        names.extend(["TIMSK", "TIFR", "TOIE", "TOV", "ICIE", "ICF"].map(|r| format!("{r}{n}")));
        names.push(format!("TCNT{n}L"));
        names.extend(["TCNT", "ICR", "PRTIM"].map(|r| format!("{r}{n}")));
        names.extend(["PCMSK", "PCIE", "PCIF", "INT", "INTF"].map(|r| format!("{r}{n}")));
        names.push(format!("ISC{n}0"));
        names.extend([format!("PCINT{n}_vect_num"), format!("INT{n}_vect_num")]);
        names.extend(['A', 'B'].map(|side| format!("TCCR{n}{side}")));
        names.push(format!("TCCR{n}"));
        for channel in ['A', 'B', 'C'] {
            names.extend(["OCR", "OCIE", "OCF"].map(|r| format!("{r}{n}{channel}")));
        }
        for event in ["OVF", "COMPA", "COMPB", "COMPC", "CAPT"] {
            names.extend(["TIMER", "TIM"].map(|timer| format!("{timer}{n}_{event}_vect_num")));
        }
    }
    names
}

/// What the assembler makes of each wanted name that the header of `mcu` defines.
fn read_header(mcu: &str) -> Result<BTreeMap<String, u16>, SiliconError> {
    const PREFIX: &str = "duskloom.";
    let mut source = String::from("#include <avr/io.h>\n");
    for name in wanted() {
        source += &format!("#ifdef {name}\n.equ {PREFIX}{name}_, {name}\n#endif\n");
    }
    // The name itself would be expanded as a macro, hence the underscore that ends the symbol.
    let object = assemble(mcu, &source)?;
    let broken = |e: object::Error| SiliconError::Compiler(e.to_string());
    let file = object::File::parse(&*object).map_err(broken)?;
    let named = file.symbols().filter_map(|symbol| {
        let name = symbol
            .name()
            .ok()?
            .strip_prefix(PREFIX)?
            .strip_suffix('_')?;
        Some((name.to_string(), symbol.address() as u16))
    });
    Ok(named.collect())
}

/// Preprocesses and assembles `source` for `mcu` with avr-gcc.
fn assemble(mcu: &str, source: &str) -> Result<Vec<u8>, SiliconError> {
    let compiler = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::NotFound => SiliconError::NoCompiler,
        _ => SiliconError::Compiler(e.to_string()),
    };
    let output = tempfile::NamedTempFile::new().map_err(compiler)?;
    let mut child = Command::new("avr-gcc")
        .arg(format!("-mmcu={mcu}"))
        .args(["-x", "assembler-with-cpp", "-c", "-", "-o"])
        .arg(output.path())
        .stdin(Stdio::piped())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(compiler)?;
    child
        .stdin
        .take()
        .expect("piped above")
        .write_all(source.as_bytes())
        .map_err(compiler)?;
    let result = child.wait_with_output().map_err(compiler)?;
    if !result.status.success() {
        return Err(SiliconError::Compiler(
            String::from_utf8_lossy(&result.stderr).into_owned(),
        ));
    }
    std::fs::read::<&Path>(output.path()).map_err(compiler)
}

/// Why a part cannot be simulated.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SiliconError {
    /// `silicon.yaml` has no entry for it.
    Unknown(String),
    /// It has no model of this timer.
    Timer { part: String, number: u8 },
    /// Its header lacks a register that the machine needs.
    Incomplete { part: String, register: String },
    /// avr-gcc is not installed.
    NoCompiler,
    /// avr-gcc failed to read the part's header.
    Compiler(String),
}

impl fmt::Display for SiliconError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unknown(part) => {
                write!(
                    f,
                    "the simulator has no model of {part}'s timers: it cannot be verified"
                )
            }
            Self::Timer { part, number } => {
                write!(
                    f,
                    "the simulator has no model of {part}'s timer {number}, which the firmware uses: it cannot be \
                     verified"
                )
            }
            Self::Incomplete { part, register } => {
                write!(f, "avr-libc's header for {part} does not define {register}")
            }
            Self::NoCompiler => write!(f, "avr-gcc is not installed"),
            Self::Compiler(text) => write!(f, "avr-gcc cannot read the part's header: {text}"),
        }
    }
}

impl std::error::Error for SiliconError {}

#[cfg(test)]
mod tests {
    use super::*;

    /// A fact without a source does not even parse; one with an empty source is found here.
    #[test]
    fn every_fact_of_silicon_has_a_source() {
        for silicon in SILICON.iter() {
            let Source {
                datasheet,
                external,
                pin_change,
            } = &silicon.source;
            let timers = silicon.timers.iter().map(|timer| &timer.source);
            let converter = silicon.converter.iter().map(|converter| &converter.source);
            for section in timers.chain(converter).chain([external, pin_change]) {
                let quoted = section.matches('\'').count() >= 2;
                assert!(quoted, "{:?}: no section in {section:?}", silicon.parts);
            }
            let digits = datasheet.chars().filter(char::is_ascii_digit).count();
            assert!(digits >= 4, "{datasheet:?} has no document number");
        }
    }
}
