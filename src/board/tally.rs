//! What a recording comes to, in one walk through it: it is the longest part of a report.

use std::collections::BTreeSet;

use super::light::Duties;
use super::take::{Stretch, Take};
use crate::design::Design;
use crate::units::Share;

/// Sums over a take.
#[derive(Debug, Clone)]
pub(super) struct Tally {
    /// By channel and level: for how many of the lasting ticks.
    times: Vec<Vec<u64>>,
    /// Lasting ticks.
    ticks: u64,
    /// Which channels were lit at one time or other, as bits.
    lit: BTreeSet<u32>,
    /// The most weight of a frame, and its first tick.
    most: (f64, usize),
}

impl Tally {
    /// `weights`, by channel and level, say which frame is the heaviest.
    pub(super) fn new(take: &Take, weights: &[Vec<f64>]) -> Self {
        let mut tally = Self {
            times: weights.iter().map(|levels| vec![0; levels.len()]).collect(),
            ticks: 0,
            lit: BTreeSet::new(),
            most: (-1.0, 0),
        };
        let lasting_from = take.lasting_from();
        let mut last_lit = None;
        for Stretch {
            start,
            ticks,
            levels,
        } in take.stretches()
        {
            let lasts = (start + ticks).saturating_sub(start.max(lasting_from)) as u64;
            let (mut weight, mut lit) = (0.0, 0);
            let channels = tally.times.iter_mut().zip(weights).zip(levels);
            for (channel, ((times, weights), level)) in channels.enumerate() {
                let level = usize::from(level.0);
                times[level] += lasts;
                weight += weights[level];
                lit |= u32::from(level > 0) << channel;
            }
            tally.ticks += lasts;
            if last_lit != Some(lit) {
                tally.lit.insert(lit);
                last_lit = Some(lit);
            }
            if weight > tally.most.0 {
                tally.most = (weight, start);
            }
        }
        tally
    }

    /// The heaviest frame's weight and tick.
    pub(super) fn most(&self) -> (f64, usize) {
        self.most
    }

    /// The channels that are lit at once, for all times.
    pub(super) fn lit_together(&self) -> impl Iterator<Item = impl Iterator<Item = usize>> {
        let channels = self.times.len();
        let lit = self.lit.iter();
        lit.map(move |&lit| (0..channels).filter(move |channel| lit >> channel & 1 == 1))
    }

    /// For which share of the lasting ticks each channel is on: exactly what its duties add up to.
    pub(super) fn on_shares(&self, duties: &Duties, design: &Design) -> Vec<Share> {
        let time = 256.0 * self.ticks as f64;
        let whole = |channel| f64::from(design.plan.drive.whole(channel)) * time;
        let counts = self.counts(duties).enumerate();
        counts
            .map(|(channel, sum)| Share(sum as f64 / whole(channel)))
            .collect()
    }

    /// On-counts of each channel over the lasting ticks, in 1/256 count: the integral of the duty
    /// over time, in whole numbers.
    fn counts(&self, duties: &Duties) -> impl Iterator<Item = u64> {
        self.times
            .iter()
            .zip(duties.channels())
            .map(|(times, duties)| {
                let sums = times.iter().zip(duties);
                sums.map(|(times, duty)| times * u64::from(duty.0)).sum()
            })
    }
}
