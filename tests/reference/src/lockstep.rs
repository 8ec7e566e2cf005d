//! Whole firmwares on both cores, instruction by instruction. Each has registers, flags, stack and
//! memory of its own from the first instruction on. What is around a core is ours: simavr's reads of
//! registers find what ours found, and it is told of interrupts and resets. Whatever it does to a
//! register must be the same, in the same instruction, which must end at the same cycle.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::other::{Other, Touch};
use crate::units::Hertz;
use crate::verify::machine::{Access, AccessKind, Level, Machine, Pin};

/// Of a firmware that does not set it: it says how long a write to the EEPROM takes.
const CLOCK: Hertz = Hertz(8e6);
const SECONDS: f64 = 10.0;
/// Memory is compared after so many steps, everything else after each.
const MEMORY_EVERY: u64 = 1009;
/// Register and bits that halt the processor, and for how long, which is no instruction's time.
const EECR: [u16; 2] = [0x3C, 0x3F];
const HALTS: [(u8, u64); 2] = [(1 << 0, 4), (1 << 1, 2)];

/// # Panics
/// If a firmware does not compile, or goes another way.
pub fn compare() {
    let out = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../out");
    let mut folders: Vec<PathBuf> = std::fs::read_dir(out)
        .expect("the demos' firmware")
        .map(|entry| entry.expect("an entry").path())
        .filter(|folder| folder.join("Makefile").exists())
        .collect();
    folders.sort();
    assert!(folders.len() >= 3, "{folders:?}");
    for folder in folders {
        let name = folder.file_name().expect("a folder").to_string_lossy();
        let built = tempfile::tempdir().expect("a temporary folder");
        let (elf, mcu) = build(&folder, built.path());
        let chip = Machine::load(&elf, &mcu, clock(&folder)).expect("the firmware loads");
        let counts = Pair::new(chip).run();
        println!("{name}: {counts}");
    }
}

/// At which a firmware runs, as its comment beside the prescaler says.
fn clock(folder: &Path) -> Hertz {
    let source = std::fs::read_to_string(folder.join("main.c")).expect("a main.c");
    let said = source.split_once("the clock: ").map(|(_, after)| after);
    let number = said.and_then(|after| after.split_once(" MHz"));
    number.map_or(CLOCK, |(number, _)| {
        Hertz(1e6 * number.parse::<f64>().expect("a number"))
    })
}

/// The firmware of a folder, compiled, and the part it is for.
fn build(folder: &Path, to: &Path) -> (PathBuf, String) {
    for file in std::fs::read_dir(folder).expect("a folder") {
        let file = file.expect("a file");
        std::fs::copy(file.path(), to.join(file.file_name())).expect("a copy");
    }
    let made = Command::new("make")
        .arg("--silent")
        .arg("--directory")
        .arg(to)
        .output();
    let made = made.expect("make runs");
    assert!(
        made.status.success(),
        "{}",
        String::from_utf8_lossy(&made.stderr)
    );
    let makefile = std::fs::read_to_string(to.join("Makefile")).expect("a Makefile");
    let mcu = makefile
        .lines()
        .find_map(|line| line.strip_prefix("MCU = "));
    let elf = std::fs::read_dir(to)
        .expect("a folder")
        .map(|file| file.expect("a file").path())
        .find(|path| path.extension().is_some_and(|extension| extension == "elf"));
    (elf.expect("an ELF file"), mcu.expect("a part").to_string())
}

/// The chip, and the other core beside it.
struct Pair {
    chip: Machine,
    other: Other,
    steps: u64,
    accesses: u64,
    interrupts: u64,
}

impl Pair {
    fn new(mut chip: Machine) -> Self {
        let geometry = chip.part().geometry;
        let mut other = Other::new(geometry);
        other.program(&chip.firmware().flash);
        other.reset();
        for register in 0x20..geometry.ram_start {
            if chip.is_peripheral(register) {
                other.watch(register);
            }
        }
        for address in (0..32).chain(geometry.ram_start..=geometry.ram_end) {
            other.data()[usize::from(address)] = chip.memory(address);
        }
        chip.watch_accesses(true);
        Self {
            chip,
            other,
            steps: 0,
            accesses: 0,
            interrupts: 0,
        }
    }

    fn run(mut self) -> String {
        let inputs: Vec<Pin> = ('A'..='D')
            .flat_map(|port| (0..8).map(move |bit| format!("P{port}{bit}")))
            .map(|name| name.parse().expect("a pin"))
            .collect();
        let tenth = (CLOCK.0 / 10.0) as u64;
        for turn in 0..(SECONDS * 10.0) as u64 {
            // A tap every two seconds, on whatever is an input then; every third is held.
            for &pin in &inputs {
                if turn % 20 == 10 && self.chip.level(pin) == Level::Released {
                    self.chip.drive(pin, Some(false));
                } else if turn % 20 == if turn % 60 < 20 { 19 } else { 12 } {
                    self.chip.drive(pin, None);
                }
            }
            let end = self.chip.now() + tenth;
            while self.chip.now() < end {
                self.step(end);
            }
        }
        self.compare_memory();
        assert!(
            self.chip.resets().len() < 3,
            "it plays: {:?}",
            self.chip.resets()
        );
        format!(
            "{SECONDS} s alike: {} instructions, {} accesses to registers, {} interrupts",
            self.steps, self.accesses, self.interrupts
        )
    }

    fn step(&mut self, end: crate::verify::machine::Moment) {
        let before = (self.chip.pc(), self.chip.now(), self.chip.resets().len());
        let executed = self.chip.executed();
        self.chip.step(end).expect("the firmware runs");
        if self.chip.resets().len() > before.2 {
            self.other.reset();
        } else if self.chip.executed() > executed {
            self.follow(before.0, before.1.0);
        } else if self.chip.pc() != before.0 {
            self.interrupts += 1;
            self.other.interrupt(self.chip.pc());
        }
        self.compare();
    }

    /// The other core executes what ours has executed.
    fn follow(&mut self, pc: u32, began: u64) {
        let accesses = self.chip.take_accesses();
        let reads = accesses
            .iter()
            .filter(|access| access.kind == AccessKind::Read);
        let values: Vec<u8> = reads.map(|access| access.value).collect();
        let step = self.other.step_with(values.into_iter());
        let (cycles, touched) = step.unwrap_or_else(|| panic!("it refuses what is at {pc:#06x}"));
        let touches: Vec<Touch> = accesses
            .iter()
            .map(|a| (a.register, a.kind, a.value))
            .collect();
        assert_eq!(touches, touched, "at {pc:#06x}, cycle {began}");
        let ended = began + cycles;
        assert_eq!(
            self.chip.now().0,
            ended + halts(&accesses),
            "end of what is at {pc:#06x}, begun at cycle {began}"
        );
        let at = |access: &Access| match access.kind {
            AccessKind::Read => access.at.0 + 1,
            _ => access.at.0,
        };
        // A skip reads in its first cycle.
        let skips = touches.iter().any(|(_, kind, _)| *kind == AccessKind::Read) && cycles > 1;
        assert!(
            accesses
                .iter()
                .all(|access| at(access) == ended || skips && at(access) == began + 1),
            "at {pc:#06x}: {accesses:?}, which ends at {ended}"
        );
        self.steps += 1;
        self.accesses += accesses.len() as u64;
        if self.steps.is_multiple_of(MEMORY_EVERY) {
            self.compare_memory();
        }
    }

    fn compare(&mut self) {
        let ours = (
            self.chip.pc(),
            self.chip.stack_pointer(),
            self.chip.status(),
        );
        let theirs = (self.other.pc(), self.other.stack(), self.other.status());
        assert_eq!(
            ours,
            theirs,
            "address, stack, status at cycle {}",
            self.chip.now().0
        );
        let registers: [u8; 32] = std::array::from_fn(|number| self.chip.register(number as u8));
        assert_eq!(
            registers,
            self.other.registers(),
            "at cycle {}",
            self.chip.now().0
        );
    }

    fn compare_memory(&mut self) {
        let geometry = self.chip.part().geometry;
        let ram = geometry.ram_start..=geometry.ram_end;
        let ours: Vec<u8> = ram.map(|address| self.chip.memory(address)).collect();
        let theirs = &self.other.data()[usize::from(geometry.ram_start)..];
        assert_eq!(ours, theirs, "memory at cycle {}", self.chip.now().0);
    }
}

/// For how long accesses to the EEPROM may halt the processor, if they are allowed to.
fn halts(accesses: &[Access]) -> u64 {
    let written = accesses.iter().filter(|access| {
        let writes = matches!(access.kind, AccessKind::Write | AccessKind::SetBit);
        writes && EECR.contains(&access.register)
    });
    let halts = written.flat_map(|access| HALTS.iter().filter(|(bit, _)| access.value & bit != 0));
    halts.map(|(_, cycles)| cycles).sum()
}
