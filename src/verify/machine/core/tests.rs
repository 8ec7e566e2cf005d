//! Every row of the vendor's table of cycles, on both kinds of cores.

use super::*;

/// AVR Instruction Set Manual DS40002198A (05/2020), section 4 'Instruction Set Summary', for a
/// program counter of 16 bits; the older cores' column agrees with a second source. Encodings are
/// GNU as's, of the first operands that each row allows.
const TABLE: &str = include_str!("../../../../tests/machine/avr-cycles.csv");

const GEOMETRY: Geometry = Geometry {
    flash_end: 0x7FF,
    ram_start: 0x100,
    ram_end: 0x1FF,
    eeprom_size: 0,
};
const START: u32 = 0x80;
const NOP: u16 = 0;
const LDS: [u16; 2] = [0x9000, 0x0120];

struct Row {
    mnemonic: &'static str,
    case: &'static str,
    words: u8,
    avre: &'static str,
    avrxt: &'static str,
    encoding: Vec<u16>,
}

fn rows() -> impl Iterator<Item = Row> {
    TABLE.lines().skip(1).map(|line| {
        // The operands may have commas: the other columns are counted from the end.
        let mut columns = line.rsplit(',');
        let mut next = || columns.next().expect("six columns");
        let (encoding, avrxt, avre, words, case) = (next(), next(), next(), next(), next());
        let hex = |word| u16::from_str_radix(word, 16).expect("a word");
        Row {
            mnemonic: line.split(',').next().expect("a mnemonic"),
            case,
            words: words.parse().expect("a number"),
            avre,
            avrxt,
            encoding: encoding.split(' ').map(hex).collect(),
        }
    })
}

struct NoBus;

impl Bus for NoBus {
    fn read(&mut self, _: u16, _: Moment) -> u8 {
        0
    }
    fn write(&mut self, _: u16, _: u8, _: Moment) {}
    fn write_bit(&mut self, _: u16, _: u8, _: bool, _: Moment) {}
}

/// Cycles and the words by which the program counter moves, with every bit clear or nearly every
/// one set.
fn run(row: &Row, set: InstructionSet, full: bool) -> Option<(u64, i64)> {
    let mut core = Core::new(GEOMETRY, set, NoBus);
    let mut image = vec![0; START as usize];
    let after = if row.case.contains("2-word") {
        LDS
    } else {
        [NOP; 2]
    };
    let words = row.encoding.iter().chain(&after);
    image.extend(words.flat_map(|word| word.to_le_bytes()));
    core.program(&image);
    for address in set.io..0x40 {
        core.set_memory(address, if full { 0xFF } else { 0 });
    }
    for number in 0..32 {
        let value = match number {
            27 | 29 | 31 => 0x01,
            26 | 28 | 30 => 0x20,
            24 if full => 0xFE,
            _ if full => 0xFF,
            _ => 0,
        };
        core.set_register(Reg(number), value);
    }
    core.set_stack_pointer(0x180);
    core.set_status(if full { 0xFF } else { 0 });
    core.set_pc(START);
    let moved = |core: &Core<NoBus>| (i64::from(core.pc()) - i64::from(START)) / 2;
    (core.step() != Effect::Failed).then(|| (core.now().0, moved(&core)))
}

#[test]
fn cycles_are_those_of_the_vendors_table() {
    let mut checked = 0;
    for row in rows() {
        let sets = [
            (InstructionSet::AVRE, row.avre),
            (InstructionSet::AVRXT, row.avrxt),
        ];
        for (set, expected) in sets {
            let cycles = match row.mnemonic {
                // No part with a program counter of 16 bits has them.
                "EICALL" => u64::from(set.timing.of(Instruction::CallFar)),
                "EIJMP" => u64::from(set.timing.of(Instruction::JumpFar)),
                // 'Time of flash operation': not modelled.
                "SPM" => {
                    assert_eq!(run(&row, set, false), None, "SPM is refused");
                    continue;
                }
                _ => measured(&row, set),
            };
            let what = (row.mnemonic, row.case, set.io);
            assert_eq!(cycles.to_string(), expected, "{what:?}");
            let next = row.encoding.get(1).copied().unwrap_or(NOP);
            assert_eq!(
                decode(row.encoding[0], next, &set).words,
                row.words,
                "{what:?}"
            );
            checked += 1;
        }
    }
    assert_eq!(checked, 2 * (TABLE.lines().count() - 1 - 2));
}

/// Cycles in the row's case, which one of the two states brings about.
fn measured(row: &Row, set: InstructionSet) -> u64 {
    let distance = match row.case {
        "" => return run(row, set, false).expect("it can be done").0,
        "taken" => 1 + 3,
        "not taken" | "no skip" => 1,
        "skips 1-word instruction" => 2,
        "skips 2-word instruction" => 3,
        other => panic!("no such case: {other}"),
    };
    let both = [false, true].map(|full| run(row, set, full).expect("it can be done"));
    let found = both.into_iter().find(|(_, moved)| *moved == distance);
    let what = (row.mnemonic, row.case);
    found
        .unwrap_or_else(|| panic!("{what:?} does not happen: {both:?}"))
        .0
}

/// A part refuses what it has not: the older small ones have neither MUL nor JMP.
#[test]
fn parts_have_the_instructions_of_their_architecture() {
    let small = InstructionSet::of_architecture(25).expect("ATtiny2313A");
    let large = InstructionSet::of_architecture(5).expect("ATmega328P");
    for word in [0x9C01, 0x0201, 0x940C, 0x940E] {
        assert_eq!(decode(word, 0, &small).instruction, Instruction::Unknown);
        assert_ne!(decode(word, 0, &large).instruction, Instruction::Unknown);
    }
    assert_eq!(
        decode(0x940C, 0, &small).words,
        2,
        "skips count words all the same"
    );
    assert_eq!(
        decode(0x95D8, 0, &large).instruction,
        Instruction::Unknown,
        "ELPM"
    );
    assert_eq!(
        InstructionSet::of_architecture(100),
        None,
        "the reduced core"
    );
}

/// All that can be decoded is done, but for what programs the flash or needs more than 64 K words of it.
#[test]
fn every_instruction_is_executed() {
    use Instruction as I;
    let set = InstructionSet::AVRE;
    let refused = |instruction| {
        let beyond = [I::StoreProgram, I::JumpFar, I::CallFar, I::Unknown];
        beyond.contains(&instruction)
    };
    // Within the RAM, for what follows LDS and STS too.
    let [low, high] = GEOMETRY.ram_start.to_le_bytes();
    let next = u16::from_le_bytes([low, high]);
    for word in 0..=u16::MAX {
        let mut core = Core::new(GEOMETRY, set, NoBus);
        for pointer in [Pointer::X, Pointer::Y, Pointer::Z] {
            core.set_pair(pointer.low(), GEOMETRY.ram_start + 1);
        }
        core.stack = GEOMETRY.ram_end - 2;
        core.program(&[word.to_le_bytes(), next.to_le_bytes()].concat());
        let failed = core.step() == Effect::Failed;
        let instruction = decode(word, next, &set).instruction;
        assert_eq!(failed, refused(instruction), "{word:#06x}: {instruction:?}");
    }
}

/// GNU ld lets RJMP go round the ends of a small flash.
#[test]
fn relative_jumps_wrap() {
    let mut core = Core::new(GEOMETRY, InstructionSet::AVRE, NoBus);
    // RJMP .-4 at address 0.
    core.program(&0xCFFE_u16.to_le_bytes());
    assert_eq!(core.step(), Effect::None);
    assert_eq!(core.pc(), GEOMETRY.flash_end - 1);
}

#[test]
fn nothing_runs_past_the_flash_or_the_memory() {
    let mut core = Core::new(GEOMETRY, InstructionSet::AVRE, NoBus);
    core.set_pc(GEOMETRY.flash_end + 1);
    assert_eq!(core.step(), Effect::Failed, "the end of the flash");
    // LDS r0, 0x200 and STS 0x200, r0.
    for word in [0x9000_u16, 0x9200] {
        core.program(&[word.to_le_bytes(), 0x0200_u16.to_le_bytes()].concat());
        core.set_pc(0);
        assert_eq!(core.step(), Effect::Failed, "{word:#06x}");
    }
}
