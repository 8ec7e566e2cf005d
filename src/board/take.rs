//! Recordings of the model: what a scene plays, in stretches of ticks through which no level moves.
//!
//! A scene without draws is recorded up to the end of its first loop, so that means over the loop
//! are exact. A scene with draws is recorded once for each of many seeds.

use crate::design::Design;
use crate::player::{Generator, Leaps, Player};
use crate::units::Level;

/// Seeds that a scene with draws is played from.
pub const SEEDS: usize = 16;
/// How long each of them is played, in seconds.
pub const MINUTE: f64 = 60.0;
/// Loops of more changes of the light than this are not waited for, however long they take.
const MOST_LEAPS: usize = 1 << 17;

/// What a scene plays from its start.
#[derive(Debug, Clone)]
pub struct Take {
    channels: usize,
    /// Stretch by stretch, channel by channel.
    levels: Vec<Level>,
    /// The tick after each stretch.
    ends: Vec<usize>,
    /// The tick from which on it repeats itself; its length: it was not heard out.
    pub loop_start: usize,
}

/// Ticks through which no level moves.
#[derive(Debug, Clone, Copy)]
pub struct Stretch<'a> {
    /// Its first tick.
    pub start: usize,
    pub ticks: usize,
    /// By channel.
    pub levels: &'a [Level],
}

impl Take {
    /// In ticks.
    pub fn ticks(&self) -> usize {
        self.ends.last().copied().unwrap_or(0)
    }

    /// What is played at a tick, by channel.
    pub fn levels_at(&self, tick: usize) -> &[Level] {
        self.stretch(self.number_at(self.recorded(tick))).levels
    }

    /// All of it, once.
    pub fn stretches(&self) -> impl Iterator<Item = Stretch<'_>> {
        (0..self.ends.len()).map(|number| self.stretch(number))
    }

    /// So many ticks from a tick on, going round the loop as often as need be.
    pub fn stretches_from(&self, tick: usize, ticks: usize) -> impl Iterator<Item = Stretch<'_>> {
        let end = tick + ticks;
        let mut start = tick;
        let mut recorded = self.recorded(tick);
        let mut number = self.number_at(recorded);
        std::iter::from_fn(move || {
            if start == end {
                return None;
            }
            let ticks = (self.ends[number] - recorded).min(end - start);
            let stretch = Stretch {
                start,
                ticks,
                levels: self.stretch(number).levels,
            };
            start += ticks;
            recorded += ticks;
            number += 1;
            if recorded == self.ticks() {
                recorded = self.lasting_from();
                number = self.number_at(recorded);
            }
            Some(stretch)
        })
    }

    /// The tick from which on the recording stands for all time: its loop, or everything.
    pub fn lasting_from(&self) -> usize {
        if self.loops() { self.loop_start } else { 0 }
    }

    /// Whether its loop was heard out.
    pub fn loops(&self) -> bool {
        self.loop_start < self.ticks()
    }

    /// The recorded tick that is played at a tick.
    fn recorded(&self, tick: usize) -> usize {
        let again = self.lasting_from();
        match tick.checked_sub(self.ticks()) {
            None => tick,
            Some(beyond) => again + beyond % (self.ticks() - again),
        }
    }

    /// Of the stretch with a recorded tick.
    fn number_at(&self, recorded: usize) -> usize {
        self.ends.partition_point(|end| *end <= recorded)
    }

    fn stretch(&self, number: usize) -> Stretch<'_> {
        let start = number.checked_sub(1).map_or(0, |before| self.ends[before]);
        Stretch {
            start,
            ticks: self.ends[number] - start,
            levels: &self.levels[number * self.channels..][..self.channels],
        }
    }

    fn new(design: &Design) -> Self {
        Self {
            channels: design.project.channels.len(),
            levels: Vec::new(),
            ends: Vec::new(),
            loop_start: 0,
        }
    }

    /// Goes on with a leap of a player's.
    fn leap(&mut self, player: &mut Leaps) {
        let new = self.levels.len();
        self.levels.extend(player.levels());
        let end = self.ticks() + player.leap();
        match (self.ends.last_mut(), new.checked_sub(self.channels)) {
            (Some(last), Some(old)) if self.levels[old..new] == self.levels[new..] => {
                self.levels.truncate(new);
                *last = end;
            }
            _ => self.ends.push(end),
        }
    }

    /// Without what comes after so many ticks, which go round to `loop_start`.
    fn cut(mut self, ticks: usize, loop_start: usize) -> Self {
        let whole = self.number_at(ticks - 1);
        self.ends.truncate(whole);
        self.ends.push(ticks);
        self.levels.truncate(self.ends.len() * self.channels);
        Self { loop_start, ..self }
    }
}

/// How many recordings stand for a scene: one without draws, [`SEEDS`] with them.
pub(super) fn count(design: &Design, scene: usize) -> usize {
    if design.deck.image.score.draws(scene) {
        SEEDS
    } else {
        1
    }
}

/// All of them.
pub fn takes(design: &Design, scene: usize) -> Vec<Take> {
    (0..count(design, scene))
        .map(|number| take(design, scene, number))
        .collect()
}

/// One of them.
pub(super) fn take(design: &Design, scene: usize, number: usize) -> Take {
    let mut player = started(design, scene, number as u16);
    if design.deck.image.score.draws(scene) {
        let ticks = (MINUTE / design.plan.tick.seconds()).ceil() as usize;
        let mut take = Take::new(design);
        while take.ticks() < ticks {
            take.leap(&mut player);
        }
        take.cut(ticks, ticks)
    } else {
        one_loop(player, design)
    }
}

fn started(design: &Design, scene: usize, seed: u16) -> Leaps<'_> {
    // Far apart on the generator's cycle: an odd number that spreads seeds over all states.
    let seed = seed.wrapping_mul(40_503).wrapping_add(Generator::FIRST);
    let mut player = Player::new(&design.deck, Generator::new(seed));
    player.start(scene);
    Leaps::new(player)
}

/// R. P. Brent's way to find a cycle: 'An improved Monte Carlo factorization algorithm', BIT 20, 1980.
///
/// From the first leap within the loop on, leaps go the same way round as ticks do.
fn one_loop(first: Leaps, design: &Design) -> Take {
    let mut take = Take::new(design);
    let Some(leaps) = leaps_of_a_round(first.clone(), &mut take) else {
        let heard = take.ticks();
        return take.cut(heard, heard);
    };
    let (mut behind, mut ahead) = (first.clone(), first);
    let (mut start, mut end) = (0, 0);
    for _ in 0..leaps {
        end += ahead.leap();
    }
    while !behind.is_where(&ahead) {
        start += behind.leap();
        end += ahead.leap();
    }
    take.cut(end, start)
}

/// Records until it has come round. `None`: it has not within [`MOST_LEAPS`].
fn leaps_of_a_round(mut player: Leaps, take: &mut Take) -> Option<usize> {
    let mut mark = player.clone();
    let (mut power, mut leaps) = (1, 0);
    for _ in 0..MOST_LEAPS {
        take.leap(&mut player);
        leaps += 1;
        if player.is_where(&mark) {
            return Some(leaps);
        }
        if leaps == power {
            mark = player.clone();
            power *= 2;
            leaps = 0;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Levels 1 2 2 2 3 | 4 4 5, where the loop starts in the middle of a stretch.
    fn looping() -> Take {
        Take {
            channels: 1,
            levels: [1, 2, 3, 4, 5].map(Level).to_vec(),
            ends: vec![1, 4, 5, 7, 8],
            loop_start: 2,
        }
    }

    fn played(stretches: impl Iterator<Item = (usize, Level)>) -> Vec<u8> {
        stretches
            .flat_map(|(ticks, level)| std::iter::repeat_n(level.0, ticks))
            .collect()
    }

    #[test]
    fn a_take_goes_round_its_loop() {
        let take = looping();
        let once = take.stretches().map(|one| (one.ticks, one.levels[0]));
        assert_eq!(played(once), [1, 2, 2, 2, 3, 4, 4, 5]);
        let on = take.stretches_from(3, 14);
        let on = played(on.map(|one| (one.ticks, one.levels[0])));
        assert_eq!(on, [2, 3, 4, 4, 5, 2, 2, 3, 4, 4, 5, 2, 2, 3]);
        let by_tick: Vec<u8> = (3..17).map(|tick| take.levels_at(tick)[0].0).collect();
        assert_eq!(by_tick, on);
    }

    #[test]
    fn a_cut_take_ends_within_a_stretch() {
        let take = looping().cut(6, 6);
        assert_eq!(take.ticks(), 6);
        let once = take.stretches().map(|one| (one.ticks, one.levels[0]));
        assert_eq!(played(once), [1, 2, 2, 2, 3, 4]);
    }
}
