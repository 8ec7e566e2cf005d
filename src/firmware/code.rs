//! The size and time of `pwm.S`, counted instruction by instruction.

use super::Registers;
use crate::chip::Reach;
use crate::plan::Plan;
use crate::units::{Bytes, Cycles};

/// What some instructions take.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
struct Cost {
    words: u32,
    cycles: u32,
}

impl Cost {
    const fn new(words: u32, cycles: u32) -> Self {
        Self { words, cycles }
    }

    /// Instructions of one word and one cycle.
    const fn plain(count: u32) -> Self {
        Self::new(count, count)
    }
}

impl std::ops::Add for Cost {
    type Output = Self;

    fn add(self, other: Self) -> Self {
        Self::new(self.words + other.words, self.cycles + other.cycles)
    }
}

impl std::iter::Sum for Cost {
    fn sum<I: Iterator<Item = Self>>(costs: I) -> Self {
        costs.fold(Self::default(), std::ops::Add::add)
    }
}

/// `lds` and `sts`.
const MEMORY: Cost = Cost::new(2, 2);
/// From the interrupt to its first instruction (datasheets: four clock cycles at least).
const ENTRY: Cost = Cost::new(0, 4);
/// `reti`, on chips with a 16-bit program counter.
const RETURN: Cost = Cost::new(1, 4);

fn store(reach: Reach) -> Cost {
    match reach {
        Reach::Bit | Reach::Out => Cost::plain(1),
        Reach::Memory => MEMORY,
    }
}

fn interrupt(plan: &Plan) -> Cost {
    let dither = plan.pwm.extra_bits > 0;
    let in_registers = Registers::new(plan).lamps.is_some();
    let load = if in_registers { Cost::plain(1) } else { MEMORY };
    let fraction = match (dither, in_registers) {
        (false, _) => Cost::default(),
        (true, true) => Cost::plain(2),
        (true, false) => MEMORY + Cost::plain(2),
    };
    let channels: Cost = plan
        .channels
        .iter()
        .map(|channel| load + fraction + store(channel.reach))
        .sum();
    let phase = if dither {
        Cost::plain(2)
    } else {
        Cost::default()
    };
    let pump = plan.pump.as_ref().map_or(Cost::default(), |pump| {
        let slower = if pump.every > 1 {
            Cost::plain(3)
        } else {
            Cost::default()
        };
        let toggle = if pump.by_xor {
            Cost::plain(4)
        } else {
            Cost::plain(1) + store(pump.reach)
        };
        slower + toggle
    });
    Cost::plain(1) + phase + channels + pump + Cost::plain(2) + RETURN
}

/// What makes the outputs dark before the first light, where that could be late.
fn darkened(plan: &Plan) -> Cost {
    let lamp = if Registers::new(plan).lamps.is_some() {
        Cost::plain(2)
    } else {
        MEMORY + MEMORY
    };
    let channels = plan.channels.iter();
    let channels: Cost = channels.map(|channel| lamp + store(channel.reach)).sum();
    Cost::plain(1) + channels
}

fn start_up(plan: &Plan, dark_first: bool) -> Cost {
    let chip = plan.chip;
    let last = u32::from(chip.ram.start) + chip.ram.size.0 - 1;
    let stack = if last > 0xFF { 4 } else { 2 };
    let dark = if dark_first {
        darkened(plan)
    } else {
        Cost::default()
    };
    Cost::plain(2 + stack) + dark + jump(plan)
}

/// The vectors before the interrupt's.
fn gap(plan: &Plan) -> Bytes {
    Bytes(u32::from(plan.interrupt.number) * plan.chip.vectors.size.0)
}

/// Whether the start-up finds room in the vectors that are never used.
pub fn starts_in_gap(plan: &Plan, dark_first: bool) -> bool {
    2 * start_up(plan, dark_first).words <= gap(plan).0
}

/// `jmp` where vectors have room for it.
fn jump(plan: &Plan) -> Cost {
    if plan.chip.vectors.size.0 == 4 {
        Cost::new(2, 3)
    } else {
        Cost::new(1, 2)
    }
}

/// All that comes before the tables: vectors and interrupt.
pub fn before_tables(plan: &Plan) -> Bytes {
    Bytes(gap(plan).0 + 2 * interrupt(plan).words)
}

/// The start-up before `main`, where it takes room of its own; `dark_first`: with what makes the outputs
/// dark.
pub fn once(plan: &Plan, dark_first: bool) -> Bytes {
    if starts_in_gap(plan, dark_first) {
        return Bytes(0);
    }
    Bytes(2 * start_up(plan, dark_first).words)
}

/// What an interrupt takes more out of idle sleep, from which most of them come (datasheets, 'Interrupt
/// Response Time').
pub const WAKING: Cycles = Cycles(4);

/// The interrupt from entry to return, at its longest, where the processor is awake.
pub fn interrupt_cycles(plan: &Plan) -> Cycles {
    Cycles((ENTRY + interrupt(plan)).cycles)
}
