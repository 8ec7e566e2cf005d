//! Random instructions on random states: everything that they leave behind.

use std::collections::BTreeMap;

use rand::SeedableRng;
use rand::rngs::StdRng;

use crate::faults;
use crate::other::Other;
use crate::state::{self, Case, GEOMETRY, State};
use crate::verify::machine::Moment;
use crate::verify::machine::core::{Bus, Core, Effect, InstructionSet, Reg, decode};

/// Each of the 65 536 opcodes, so many times.
const ROUNDS: u32 = 24;
const MOST_PRINTED: u64 = 20;

/// Registers are memory on both sides: peripherals are not compared.
struct NoBus;

impl Bus for NoBus {
    fn read(&mut self, _: u16, _: Moment) -> u8 {
        0
    }
    fn write(&mut self, _: u16, _: u8, _: Moment) {}
    fn write_bit(&mut self, _: u16, _: u8, _: bool, _: Moment) {}
}

/// What the core makes of a case; `None` if it refuses.
fn ours(core: &mut Core<NoBus>, case: &Case) -> Option<State> {
    core.program(&case.flash());
    for (number, value) in case.state.registers.iter().enumerate() {
        core.set_register(Reg(number as u8), *value);
    }
    for (address, value) in (0x20..).zip(&case.state.memory) {
        core.set_memory(address, *value);
    }
    core.set_stack_pointer(case.state.stack);
    core.set_status(case.state.status);
    core.set_pc(case.state.pc);
    core.set_now(Moment(0));
    if core.step() == Effect::Failed {
        return None;
    }
    Some(State {
        registers: std::array::from_fn(|number| core.register(Reg(number as u8))),
        memory: (0x20..=GEOMETRY.ram_end).map(|a| core.memory(a)).collect(),
        stack: core.stack_pointer(),
        status: core.status(),
        pc: core.pc(),
        cycles: core.now().0,
    })
}

/// # Panics
/// If a case differs that is no known fault, or too few were compared.
pub fn compare() {
    let mut random = StdRng::seed_from_u64(20);
    let mut core = Core::new(GEOMETRY, InstructionSet::AVRE, NoBus);
    let mut other = Other::new(GEOMETRY);
    let (mut compared, mut refused, mut wrong) = (0u64, 0u64, 0u64);
    let mut excused: BTreeMap<&str, u64> = BTreeMap::new();
    for _ in 0..ROUNDS {
        for opcode in 0..=u16::MAX {
            let case = Case::random(opcode, &mut random);
            let instruction = decode(opcode, case.operand, &InstructionSet::AVRE).instruction;
            if let Some(reason) = faults::known(instruction, &case) {
                *excused.entry(reason).or_default() += 1;
                continue;
            }
            let (ours, theirs) = (ours(&mut core, &case), other.run(&case));
            if ours != theirs {
                wrong += 1;
                if wrong <= MOST_PRINTED {
                    println!("{opcode:#06x} {:#06x} {instruction:?}", case.operand);
                    state::difference(&case.state, ours.as_ref(), theirs.as_ref());
                }
            } else if ours.is_some() {
                compared += 1;
            } else {
                refused += 1;
            }
        }
    }
    println!("{compared} cases alike, {refused} refused by both, {wrong} different");
    for (reason, count) in excused {
        println!("{count} not compared: {reason}");
    }
    assert!(compared > 1_000_000, "a million cases at least");
    assert_eq!(wrong, 0, "cases that differ");
}
