//! What of a timer the part's header file says: its registers, interrupt flags and vectors.

use super::TimerRegister;
use crate::verify::machine::counter::flag;
use crate::verify::machine::silicon::{Silicon, TimerKind, TimerSilicon};

const CHANNELS: [char; 3] = ['A', 'B', 'C'];

/// The channels that the part's header has a compare register for. OCR1C of the high-speed timer
/// is no channel's.
pub(super) fn channel_letters(part: &Silicon, silicon: &TimerSilicon) -> Vec<char> {
    let count = if silicon.kind == TimerKind::HighSpeed {
        2
    } else {
        CHANNELS.len()
    };
    let there = |letter: &char| {
        part.value(&[&format!("OCR{}{letter}", silicon.number)])
            .is_some()
    };
    CHANNELS.into_iter().take(count).take_while(there).collect()
}

/// The registers of this timer alone, by data address; the high byte of a 16-bit register follows
/// the low one.
pub(super) fn own_registers(
    part: &Silicon,
    silicon: &TimerSilicon,
    letters: &[char],
) -> Option<Vec<(u16, TimerRegister)>> {
    let n = silicon.number;
    let mut low = match silicon.kind {
        TimerKind::HighSpeed => vec![
            (format!("TCCR{n}"), TimerRegister::ControlA, None),
            (format!("OCR{n}C"), TimerRegister::LimitLow, None),
        ],
        _ => vec![
            (format!("TCCR{n}A"), TimerRegister::ControlA, None),
            (format!("TCCR{n}B"), TimerRegister::ControlB, None),
        ],
    };
    let count = match silicon.kind {
        TimerKind::Counting => format!("TCNT{n}L"),
        _ => format!("TCNT{n}"),
    };
    low.push((
        count,
        TimerRegister::CountLow,
        Some(TimerRegister::CountHigh),
    ));
    if silicon.kind == TimerKind::SixteenBit {
        low.push((
            format!("ICR{n}"),
            TimerRegister::LimitLow,
            Some(TimerRegister::LimitHigh),
        ));
    }
    for (channel, letter) in letters.iter().enumerate() {
        let high = Some(TimerRegister::CompareHigh(channel as u8));
        low.push((
            format!("OCR{n}{letter}"),
            TimerRegister::CompareLow(channel as u8),
            high,
        ));
    }
    let mut registers = Vec::new();
    for (name, register, high) in low {
        let address = part.value(&[&name])?;
        registers.push((address, register));
        let high = high.filter(|_| silicon.kind == TimerKind::SixteenBit);
        registers.extend(high.map(|high| (address + 1, high)));
    }
    Some(registers)
}

/// An interrupt source of a timer.
pub(super) struct TimerSource {
    pub flag: u8,
    pub enable: u16,
    pub raised: u16,
    pub vector: u8,
}

/// The interrupt sources that the part's header names in full.
pub(super) fn sources(part: &Silicon, n: u8, letters: &[char]) -> Vec<TimerSource> {
    let source = |flag: u8, event: &str, enable: String, raised: String| {
        let vectors = ["TIMER", "TIM"].map(|timer| format!("{timer}{n}_{event}_vect_num"));
        Some(TimerSource {
            flag,
            enable: part.value(&[&enable])?,
            raised: part.value(&[&raised])?,
            vector: part.value(&[&vectors[0], &vectors[1]])? as u8,
        })
    };
    let overflow = source(flag::OVERFLOW, "OVF", format!("TOIE{n}"), format!("TOV{n}"));
    let capture = source(flag::CAPTURE, "CAPT", format!("ICIE{n}"), format!("ICF{n}"));
    let compares = letters
        .iter()
        .zip(flag::COMPARE)
        .filter_map(|(letter, flag)| {
            let (enable, raised) = (format!("OCIE{n}{letter}"), format!("OCF{n}{letter}"));
            source(flag, &format!("COMP{letter}"), enable, raised)
        });
    overflow
        .into_iter()
        .chain(capture)
        .chain(compares)
        .collect()
}
