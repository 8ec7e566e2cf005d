//! The longest time through assembly, loops and calls included.

use std::collections::BTreeMap;

use super::{Listing, Next};
use crate::units::Cycles;

/// How often at most a loop is gone through, counted together with others of its group.
#[derive(Debug, Clone, Copy)]
pub struct Rounds {
    pub group: &'static str,
    pub most: u32,
}

impl Listing {
    /// The longest time from `label` to its return. `rounds` says how often at most the code from a
    /// label on is gone through, for every label that something jumps back to: a local label goes
    /// by the name of the one before it. Those of one group take turns.
    ///
    /// # Panics
    /// If there is no such label.
    pub fn longest(&self, label: &str, rounds: &dyn Fn(&str) -> Rounds) -> Cycles {
        Cycles(self.longest_at(self.labels[label], None, rounds, &mut BTreeMap::new()))
    }

    /// The same, for the ways that do not come past the label `stop`, which are looked at up to
    /// there.
    ///
    /// # Panics
    /// If there is no such label.
    pub fn longest_before(
        &self,
        label: &str,
        stop: &str,
        rounds: &dyn Fn(&str) -> Rounds,
    ) -> Cycles {
        let stop = Some(self.labels[stop]);
        Cycles(self.longest_at(self.labels[label], stop, rounds, &mut BTreeMap::new()))
    }

    fn longest_at(
        &self,
        entry: usize,
        stop: Option<usize>,
        rounds: &dyn Fn(&str) -> Rounds,
        called: &mut BTreeMap<usize, u32>,
    ) -> u32 {
        let mut walk = Walk {
            listing: self,
            stop,
            rounds,
            called,
            costs: BTreeMap::new(),
            heads: BTreeMap::new(),
        };
        let straight = walk.from(entry, None).unwrap_or(0);
        // Loops are found while walking, and those within loops while walking those.
        let mut groups: BTreeMap<&'static str, (u32, u32)> = BTreeMap::new();
        let mut sum = straight;
        for head in walk.heads.clone().into_keys() {
            let Rounds { group, most } = rounds(self.name_of(head));
            walk.costs.clear();
            let once = walk.from(head, Some(head)).unwrap_or(0);
            let worst = groups.entry(group).or_default();
            *worst = (worst.0.max(once), worst.1.max(most));
        }
        for (once, most) in groups.into_values() {
            sum = sum.saturating_add(once.saturating_mul(most.saturating_sub(1)));
        }
        sum
    }

    /// The named label at an instruction, or the last before it.
    fn name_of(&self, at: usize) -> &str {
        self.labels
            .iter()
            .filter(|(_, place)| **place <= at)
            .max_by_key(|(_, place)| **place)
            .map_or("", |(name, _)| name)
    }
}

/// A search for the longest path, which takes no jump back.
struct Walk<'a> {
    listing: &'a Listing,
    stop: Option<usize>,
    rounds: &'a dyn Fn(&str) -> Rounds,
    /// How long what is called takes, by its first instruction.
    called: &'a mut BTreeMap<usize, u32>,
    /// The longest way on from an instruction; `None`: none that ends where it should.
    costs: BTreeMap<usize, Option<u32>>,
    /// Where jumps back go.
    heads: BTreeMap<usize, ()>,
}

impl Walk<'_> {
    /// From an instruction to the end, or to a jump back to `goal`.
    fn from(&mut self, at: usize, goal: Option<usize>) -> Option<u32> {
        if at >= self.listing.instructions.len() {
            return None;
        }
        if self.stop == Some(at) {
            return goal.is_none().then_some(0);
        }
        if let Some(cost) = self.costs.get(&at) {
            return *cost;
        }
        let own = self.listing.instructions[at].cycles();
        let cost = match self.listing.next[at] {
            Next::End => goal.is_none().then_some(own),
            Next::On => self.from(at + 1, goal).map(|on| own + on),
            Next::Jump(to) => self.jump(at, to, goal).map(|on| own + on),
            Next::Either(to) => {
                let taken = self.jump(at, to, goal).map(|on| own + 1 + on);
                let on = self.from(at + 1, goal).map(|on| own + on);
                taken.max(on)
            }
            Next::Call(to) => {
                let inside = self.call(to);
                self.from(at + 1, goal).map(|on| own + inside + on)
            }
        };
        self.costs.insert(at, cost);
        cost
    }

    fn call(&mut self, to: usize) -> u32 {
        if let Some(cycles) = self.called.get(&to) {
            return *cycles;
        }
        let (listing, rounds) = (self.listing, self.rounds);
        let cycles = listing.longest_at(to, None, rounds, self.called);
        self.called.insert(to, cycles);
        cycles
    }

    fn jump(&mut self, from: usize, to: usize, goal: Option<usize>) -> Option<u32> {
        if to > from {
            return self.from(to, goal);
        }
        self.heads.insert(to, ());
        (goal == Some(to)).then_some(0)
    }
}
