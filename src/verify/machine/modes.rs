//! The tables that say what the mode and clock bits of a timer mean.

use super::counter::{Shape, Top};
use super::silicon::{ClockChoices, TimerKind};

/// Table 'Waveform Generation Mode Bit Description' of the 8-bit timers.
pub(super) fn eight_bit_mode(wgm: u8) -> (Shape, Top) {
    match wgm {
        1 => (Shape::PhaseCorrect, Top::Fixed(0xFF)),
        2 => (Shape::Plain, Top::CompareA),
        3 => (Shape::Fast, Top::Fixed(0xFF)),
        5 => (Shape::PhaseCorrect, Top::CompareA),
        7 => (Shape::Fast, Top::CompareA),
        _ => (Shape::Plain, Top::Fixed(0xFF)),
    }
}

/// Table 'Waveform Generation Mode Bit Description' of the 16-bit timers.
pub(super) fn sixteen_bit_mode(wgm: u8) -> (Shape, Top) {
    match wgm {
        1 => (Shape::PhaseCorrect, Top::Fixed(0xFF)),
        2 => (Shape::PhaseCorrect, Top::Fixed(0x1FF)),
        3 => (Shape::PhaseCorrect, Top::Fixed(0x3FF)),
        4 => (Shape::Plain, Top::CompareA),
        5 => (Shape::Fast, Top::Fixed(0xFF)),
        6 => (Shape::Fast, Top::Fixed(0x1FF)),
        7 => (Shape::Fast, Top::Fixed(0x3FF)),
        8 => (Shape::PhaseFrequencyCorrect, Top::Limit),
        9 => (Shape::PhaseFrequencyCorrect, Top::CompareA),
        10 => (Shape::PhaseCorrect, Top::Limit),
        11 => (Shape::PhaseCorrect, Top::CompareA),
        12 => (Shape::Plain, Top::Limit),
        14 => (Shape::Fast, Top::Limit),
        15 => (Shape::Fast, Top::CompareA),
        _ => (Shape::Plain, Top::Fixed(0xFFFF)),
    }
}

/// TCCR1 of ATtiny25/45/85: CTC1 bit 7, PWM1A bit 6; PWM1B is bit 6 of GTCCR. OCR1C limits the
/// count in all of them.
pub(super) fn high_speed_mode(tccr: u8, gtccr: u8) -> (Shape, Top) {
    match ((tccr | gtccr) >> 6 & 1 != 0, tccr >> 7 != 0) {
        (true, _) => (Shape::Fast, Top::Limit),
        (false, true) => (Shape::Plain, Top::Limit),
        (false, false) => (Shape::Plain, Top::Fixed(0xFF)),
    }
}

/// TCCR0A of ATtiny261A/461A/861A: CTC0, bit 0.
pub(super) fn counting_mode(tccr: u8) -> (Shape, Top) {
    match tccr & 1 {
        0 => (Shape::Plain, Top::Fixed(0xFF)),
        _ => (Shape::Plain, Top::CompareA),
    }
}

/// Tables 'Compare Output Mode' for fast and phase-correct PWM, COMnA1:0 = 1.
pub(super) fn may_toggle(kind: TimerKind, shape: Shape, top: Top) -> bool {
    match (kind, shape) {
        (TimerKind::SixteenBit, Shape::Fast) => matches!(top, Top::CompareA | Top::Limit),
        _ => top == Top::CompareA,
    }
}

/// Table 'Clock Select Bit Description': system clocks a tick, 0 for none. An external clock
/// counts as none.
pub(super) fn division(clock: ClockChoices, select: u8) -> u32 {
    const SYSTEM: [u32; 8] = [0, 1, 8, 64, 256, 1024, 0, 0];
    const OWN: [u32; 8] = [0, 1, 8, 32, 64, 128, 256, 1024];
    match (clock, select) {
        (ClockChoices::System, select) => SYSTEM[usize::from(select)],
        (ClockChoices::Own, select) => OWN[usize::from(select)],
        (ClockChoices::Binary, 0) => 0,
        (ClockChoices::Binary, select) => 1 << (select - 1),
    }
}
