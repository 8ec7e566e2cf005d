//! Strings whose light is judged together: each by itself, those of each group, and all.
//!
//! Strings that take turns keep their sum still while each of them flashes; and a few that flash in
//! turn are a small share of the sum. WCAG 2 speaks of what is seen as one area: people stand before
//! one string, or before the group that hangs together, as well as before all.

use serde::Serialize;

use super::flash::Busiest;
use super::light::ones;
use super::watch::Watch;
use crate::spec::Project;
use crate::units::{Luminance, Seconds};

/// Strings that are looked at together.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Party {
    /// Such as "`quay`", "group `shore`" or "all strings together".
    pub name: String,
    /// Its channels…
    #[serde(skip)]
    strings: Vec<usize>,
    /// …and as bits.
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
                parties.push(Self {
                    name,
                    strings: ones(members).collect(),
                    members,
                });
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

    /// Its light, of the most that it gives; `light` is what each of its channels gives.
    pub fn light(&self, light: impl Fn(usize) -> f64) -> Luminance {
        let sum: f64 = self.strings.iter().map(|&channel| light(channel)).sum();
        Luminance(sum / self.strings.len() as f64)
    }
}

/// Somebody who watches each party, and looks at those alone whose strings have moved.
pub(super) struct Watches<'a> {
    parties: &'a [Party],
    watches: Vec<Watch>,
}

impl<'a> Watches<'a> {
    pub(super) fn new(parties: &'a [Party], step: Seconds) -> Self {
        Self {
            parties,
            watches: vec![Watch::new(step); parties.len()],
        }
    }

    /// From this step on, the channels give so much, of which those have moved whose bits are set.
    pub(super) fn see(&mut self, step: usize, moved: u32, lights: &[f64]) {
        for (party, watch) in self.parties.iter().zip(&mut self.watches) {
            if party.members & moved != 0 {
                watch.see_at(step, party.light(|channel| lights[channel]));
            }
        }
    }

    /// The busiest second of each party, in their order.
    pub(super) fn busiest(&self) -> Vec<Busiest> {
        self.watches.iter().map(Watch::busiest).collect()
    }
}
