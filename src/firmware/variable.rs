//! Where the single variables of the parts live.

use super::Firmware;
use super::part::Part;
use crate::drive::Drive;
use crate::plan::Plan;
use crate::units::Bytes;

/// A variable of a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Variable {
    pub name: &'static str,
    /// One byte or two.
    pub size: Bytes,
    pub home: Home,
    /// What it is, for who reads the firmware.
    pub note: &'static str,
}

/// Where a variable lives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Home {
    /// A register that the compiler is kept from, by its number.
    Register(u8),
    /// A general purpose register among the I/O registers, by its name.
    Io(&'static str),
    Memory,
}

const BYTE: Bytes = Bytes(1);
const WORD: Bytes = Bytes(2);

/// The last register that the compiler can do without.
const LAST_SPARE: u8 = 15;

/// An instruction shorter to reach than memory, on chips that have them.
const IO: [&str; 3] = ["GPIOR0", "GPIOR1", "GPIOR2"];

type Wanted = (&'static str, Bytes, &'static str);

impl Firmware {
    /// The variables of all parts. Bytes go into registers that the interrupt leaves over, then where a
    /// single instruction reaches them; those that are counted most come first.
    pub(super) fn placed(&self, plan: &Plan) -> Vec<Variable> {
        let counted_most_first = [Part::Button, Part::Memory, Part::Shows, Part::Fade];
        let parts = self.parts();
        let there = counted_most_first
            .into_iter()
            .filter(|part| parts.contains(part));
        let Drive::Timer(drive) = &plan.drive;
        let (_, last) = drive.registers.range();
        let mut spare = (last + 1..=LAST_SPARE).map(Home::Register);
        let known = |name: &&'static str| plan.chip.register(name).is_some();
        let mut io = IO.into_iter().filter(known).map(Home::Io);
        let (bytes, words): (Vec<Wanted>, Vec<Wanted>) = there
            .flat_map(|part| self.wanted(part))
            .partition(|(_, size, _)| *size == BYTE);
        let bytes = bytes.into_iter().map(|wanted| {
            let home = spare.next().or_else(|| io.next());
            (wanted, home.unwrap_or(Home::Memory))
        });
        let words = words.into_iter().map(|wanted| (wanted, Home::Memory));
        let placed = |((name, size, note), home)| Variable {
            name,
            size,
            home,
            note,
        };
        bytes.chain(words).map(placed).collect()
    }

    /// What a part counts.
    fn wanted(&self, part: Part) -> Vec<Wanted> {
        let size = |wide: bool| if wide { WORD } else { BYTE };
        match part {
            Part::Button => {
                let wide = self.button.is_some_and(|button| button.is_wide());
                let wide_gap = self.button.is_some_and(|button| button.has_wide_gap());
                vec![
                    ("pressed", size(wide), "ticks for which the button is down"),
                    ("gap", size(wide_gap), "ticks for which it is up since"),
                ]
            }
            Part::Memory => {
                let memory = self.memory.as_ref();
                let wide = memory.is_some_and(|memory| memory.saving.is_wide());
                vec![
                    ("record", BYTE, "where the next record goes"),
                    (
                        "unsaved",
                        size(wide),
                        "steps until the state is saved; 0: it is",
                    ),
                    ("check", BYTE, "what the check byte has come to"),
                ]
            }
            Part::Shows if self.features.roams => {
                vec![("dwell", BYTE, "beats until the next scene")]
            }
            Part::Shows => Vec::new(),
            Part::Fade => vec![
                ("leaving", BYTE, "the old scene is being dimmed"),
                ("scene", BYTE, "the scene that is due"),
            ],
        }
    }

    /// What the variables take of memory.
    pub fn variables_in_memory(&self) -> Bytes {
        let in_memory = self.variables.iter();
        let in_memory = in_memory.filter(|variable| variable.home == Home::Memory);
        Bytes(in_memory.map(|variable| variable.size.0).sum())
    }
}
