//! Where the single variables of the parts live.

use super::Firmware;
use super::part::Part;
use crate::conduct::fade::FadeStep;
use crate::conduct::{Dwell, Once};
use crate::plan::Plan;
use crate::target::Wanted;
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

/// The last register that the compiler can do without.
const LAST_SPARE: u8 = 15;

/// An instruction shorter to reach than memory, on chips that have them.
const IO: [&str; 3] = ["GPIOR0", "GPIOR1", "GPIOR2"];

impl Firmware {
    /// The variables of all parts. Bytes go into registers that the interrupt leaves over, then where a
    /// single instruction reaches them; those that are counted most come first.
    pub(super) fn placed(&self, plan: &Plan) -> Vec<Variable> {
        let counted_most_first = [
            Part::Button,
            Part::Memory,
            Part::Shows,
            Part::Fade,
            Part::Contacts,
            Part::Once,
            Part::Switch,
            Part::Dimmer,
        ];
        let parts = self.parts();
        let there = counted_most_first
            .into_iter()
            .filter(|part| parts.contains(part));
        let mut spare = (plan.drive.last_register() + 1..=LAST_SPARE).map(Home::Register);
        let known = |name: &&'static str| plan.chip.register(name).is_some();
        let mut io = IO.into_iter().filter(known).map(Home::Io);
        let (bytes, words): (Vec<Wanted>, Vec<Wanted>) = there
            .flat_map(|part| self.wanted(part))
            .partition(|wanted| wanted.size == BYTE);
        let bytes = bytes.into_iter().map(|wanted| {
            let home = spare.next().or_else(|| io.next());
            (wanted, home.unwrap_or(Home::Memory))
        });
        let words = words.into_iter().map(|wanted| (wanted, Home::Memory));
        let placed = |(wanted, home): (Wanted, Home)| Variable {
            name: wanted.name,
            size: wanted.size,
            home,
            note: wanted.note,
        };
        bytes.chain(words).map(placed).collect()
    }

    /// What a part counts in.
    fn wanted(&self, part: Part) -> Vec<Wanted> {
        let (rules, draws) = (&self.rules, self.features.draws);
        match part {
            Part::Button => self.button.iter().flat_map(|b| b.variables()).collect(),
            Part::Memory => {
                let memory = self.memory.iter();
                memory.flat_map(|memory| memory.variables(draws)).collect()
            }
            Part::Shows if rules.roams() => Dwell::variables().to_vec(),
            Part::Shows => Vec::new(),
            // Their assembly has them.
            Part::Evening | Part::Measure | Part::Guard => Vec::new(),
            Part::Fade => FadeStep::variables(rules.hops()).to_vec(),
            Part::Switch => (self.switch.iter())
                .map(|switch| switch.variable())
                .collect(),
            Part::Dimmer => (self.dimmer.iter())
                .map(|dimmer| dimmer.variable())
                .collect(),
            Part::Contacts => {
                let contacts = self.contacts.iter();
                contacts.map(|contact| contact.variable()).collect()
            }
            Part::Once => vec![Once::variable(rules.once(), rules.begins_with().is_some())],
        }
    }

    /// What must start from 0, and nothing else sets.
    pub fn cleared(&self) -> Vec<&'static str> {
        // The player's own, which dims with them.
        let master = self.fade.map(|_| "master");
        // Where there is no knob, it begins with all of it.
        let gain = self.dim_knob().map(|_| "gain");
        let parts = self.parts();
        let cleared = |part: Part| {
            let variables = self.wanted(part).into_iter();
            variables.filter(|one| one.cleared).map(|one| one.name)
        };
        let order = [
            Part::Button,
            Part::Fade,
            Part::Memory,
            Part::Contacts,
            Part::Once,
            Part::Switch,
            Part::Dimmer,
        ];
        let there = order.into_iter().filter(|part| parts.contains(part));
        there
            .flat_map(|part| {
                let master = master.filter(|_| part == Part::Fade);
                master.into_iter().chain(cleared(part))
            })
            .chain(gain)
            .collect()
    }

    /// What the variables take of memory.
    pub fn variables_in_memory(&self) -> Bytes {
        // Where no scene follows another, nothing sets which is due, and the compiler leaves it out.
        let is_set = |variable: &&Variable| variable.name != "scene" || self.rules.changes();
        let in_memory = self.variables.iter().filter(is_set);
        let in_memory = in_memory.filter(|variable| variable.home == Home::Memory);
        Bytes(in_memory.map(|variable| variable.size.0).sum())
    }
}
