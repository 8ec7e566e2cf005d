//! The light of all channels together, relative to the most that the project gives.

use crate::circuit::StringDesign;
use crate::design::Design;
use crate::light::cie;
use crate::units::{Duty, Level, Luminance};

/// What the model puts out, looked up: by channel and level.
#[derive(Debug, Clone)]
pub struct Duties(Vec<Vec<Duty>>);

impl Duties {
    pub fn new(design: &Design) -> Self {
        Self(design.deck.duties(design.scale.levels()))
    }

    /// Channel by channel, its duty at each level.
    pub fn channels(&self) -> impl ExactSizeIterator<Item = &[Duty]> {
        self.0.iter().map(Vec::as_slice)
    }

    pub fn of(&self, channel: usize, level: Level) -> Duty {
        self.0[channel][usize::from(level.0)]
    }
}

/// Each channel's light by level. Strings count alike: a string that is
/// brighter than the others has a trim, which is undone here.
#[derive(Debug, Clone)]
pub struct Shine {
    /// By channel and level, of what the channel gives at most.
    shares: Vec<Vec<f64>>,
}

impl Shine {
    /// `top` is the highest level.
    pub fn new(duties: &Duties, top: Level) -> Self {
        let share = |duties: &[Duty]| {
            let full = f64::from(duties[usize::from(top.0)].0).max(1.0);
            duties.iter().map(|duty| f64::from(duty.0) / full).collect()
        };
        Self {
            shares: duties.channels().map(share).collect(),
        }
    }

    /// 1: all channels at the ceiling.
    pub fn of(&self, levels: impl IntoIterator<Item = Level>) -> Luminance {
        let one = |(shares, level): (&Vec<f64>, Level)| shares[usize::from(level.0)];
        let sum: f64 = self.shares.iter().zip(levels).map(one).sum();
        Luminance(sum / self.shares.len() as f64)
    }

    /// Of one channel by itself; 1: at the ceiling.
    pub fn of_one(&self, channel: usize, level: Level) -> f64 {
        self.shares[channel][usize::from(level.0)]
    }
}

/// What each channel gives, as levels move.
pub(super) struct Glow<'a> {
    shine: &'a Shine,
    /// `None`: not known yet.
    levels: Vec<Option<Level>>,
    lights: Vec<f64>,
}

impl<'a> Glow<'a> {
    pub(super) fn new(shine: &'a Shine) -> Self {
        Self {
            shine,
            levels: vec![None; shine.shares.len()],
            lights: vec![0.0; shine.shares.len()],
        }
    }

    /// Goes on to these levels; gives the channels that have moved, as bits: at first, all.
    pub(super) fn move_to(&mut self, levels: &[Level]) -> u32 {
        let mut moved = 0;
        for (channel, (old, &new)) in self.levels.iter_mut().zip(levels).enumerate() {
            if *old != Some(new) {
                *old = Some(new);
                self.lights[channel] = self.shine.of_one(channel, new);
                moved |= 1 << channel;
            }
        }
        moved
    }

    /// By channel; 1: at the ceiling.
    pub(super) fn lights(&self) -> &[f64] {
        &self.lights
    }
}

/// The numbers of the bits that are set, ascending.
pub(super) fn ones(bits: u32) -> impl Iterator<Item = usize> {
    let mut left = bits;
    std::iter::from_fn(move || {
        let one = left.trailing_zeros();
        left &= left.checked_sub(1)?;
        Some(one as usize)
    })
}

/// From its nominal light, how far a string is at full light with LEDs, resistor and rail at their ends, in L*.
pub(super) fn spread_of(string: &StringDesign) -> [f64; 2] {
    [string.least, string.most].map(|current| {
        let light = Luminance(current.0 / string.current.0);
        cie::lightness(light).0 - 100.0
    })
}
