//! Strings whose light is judged together: each by itself, those of each group, and all.
//!
//! Strings that take turns keep their sum still while each of them flashes; and a few that flash in
//! turn are a small share of the sum. WCAG 2 speaks of what is seen as one area: people stand before
//! one string, or before the group that hangs together, as well as before all.

use serde::Serialize;

use super::flash::Busiest;
use super::light::Shine;
use super::watch::Watch;
use crate::spec::Project;
use crate::units::{Level, Luminance, Seconds};

/// Strings that are looked at together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Party {
    /// Such as "`quay`", "group `shore`" or "all strings together".
    pub name: String,
    /// Its channels, as bits.
    #[serde(skip)]
    members: u32,
}

impl Party {
    /// All together first, then the groups, then each string.
    pub fn all(project: &Project) -> Vec<Self> {
        let channels = &project.channels;
        let mut parties: Vec<Self> = Vec::new();
        let mut add = |name: String, members: u32| {
            if members != 0 && parties.iter().all(|party| party.members != members) {
                parties.push(Self { name, members });
            }
        };
        if channels.len() > 1 {
            add("all strings together".into(), (1 << channels.len()) - 1);
        }
        for group in channels.iter().flat_map(|channel| &channel.groups) {
            let is_in =
                |of: &crate::spec::Channel| of.groups.iter().any(|own| own.value == group.value);
            let members = channels
                .iter()
                .enumerate()
                .filter(|(_, channel)| is_in(channel));
            let members: Vec<usize> = members.map(|(id, _)| id).collect();
            if members.len() > 1 {
                let bits = members.iter().fold(0, |bits, id| bits | 1 << id);
                add(format!("group `{}`", group.value), bits);
            }
        }
        for (id, channel) in channels.iter().enumerate() {
            add(format!("`{}`", channel.name.value), 1 << id);
        }
        parties
    }

    /// Its light, of the most that it gives.
    pub fn light(&self, shine: &Shine, levels: &[Level]) -> Luminance {
        let own = (0..levels.len()).filter(|id| self.members >> id & 1 == 1);
        let sum: f64 = own.map(|id| shine.of_one(id, levels[id])).sum();
        Luminance(sum / f64::from(self.members.count_ones()))
    }
}

/// Somebody who watches each party, and looks at those alone whose strings have moved.
pub(super) struct Watches<'a> {
    parties: &'a [Party],
    shine: &'a Shine,
    watches: Vec<Watch>,
    last: Vec<Level>,
}

impl<'a> Watches<'a> {
    pub(super) fn new(parties: &'a [Party], shine: &'a Shine, step: Seconds) -> Self {
        Self {
            parties,
            shine,
            watches: vec![Watch::new(step); parties.len()],
            last: Vec::new(),
        }
    }

    /// From this step on, the levels are these.
    pub(super) fn see(&mut self, step: usize, levels: &[Level]) {
        let moved = if self.last.is_empty() {
            u32::MAX
        } else {
            let pairs = self.last.iter().zip(levels).enumerate();
            pairs.fold(0, |bits, (id, (old, new))| {
                bits | u32::from(old != new) << id
            })
        };
        for (party, watch) in self.parties.iter().zip(&mut self.watches) {
            if party.members & moved != 0 {
                watch.see_at(step, party.light(self.shine, levels));
            }
        }
        self.last.clear();
        self.last.extend_from_slice(levels);
    }

    /// The busiest second of each party, in their order.
    pub(super) fn busiest(&self) -> Vec<Busiest> {
        self.watches.iter().map(Watch::busiest).collect()
    }
}
