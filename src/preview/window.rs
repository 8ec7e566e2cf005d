//! Which span of a pattern is shown, and how much of it goes into a column.

use crate::design::Design;
use crate::spec::PatternId;
use crate::units::Time;

use super::View;
use super::round::Round;

/// A span of time, cut into columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Window {
    pub name: String,
    pub round: Round,
    /// Something in it is drawn by the chip.
    pub random: bool,
    /// Seconds since the pattern's start.
    pub start: f64,
    /// Seconds.
    pub column: f64,
    pub columns: usize,
    /// Seconds.
    tick: f64,
}

/// A pattern that comes round sooner is shown for this long at least, in whole rounds.
const SHORTEST: f64 = 1.0;
/// A random pattern is shown for this long at least.
const RANDOM: f64 = 10.0;
/// No pattern is shown for longer unless the person says so.
const LONGEST: f64 = 24.0 * 3600.0;

/// What a column may last, in each power of ten: so that the loss to rounding stays small and the
/// number is easy to say.
const ROUND_NUMBERS: [f64; 10] = [1.0, 1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0];

impl Window {
    /// What `view` asks for of a pattern that is played by `scene`, in at most `room` columns.
    pub fn new(
        design: &Design,
        pattern: PatternId,
        scene: usize,
        view: &View,
        room: usize,
    ) -> Self {
        let round = Round::of(design.project.pattern(pattern));
        let random = design.deck.image.score.draws(scene);
        let span = view
            .span
            .map_or_else(|| usual(&round, random), Time::seconds);
        let tick = design.grid.tick_seconds();
        let column = column(span, room.max(1) as f64, tick);
        Self {
            name: design.project.pattern(pattern).name.value.clone(),
            round,
            random,
            start: view.start.seconds(),
            column,
            columns: ((span / column - 1e-6).ceil() as usize).clamp(1, room.max(1)),
            tick,
        }
    }

    /// The ticks that a column shows, counted from the pattern's start: the first, and the one
    /// after the last. Never empty; a tick that is longer than a column is in several.
    pub fn ticks(&self, column: usize) -> (u64, u64) {
        let first = self.first_tick(column);
        (first, self.first_tick(column + 1).max(first + 1))
    }

    /// The same columns as another window, on this one's ticks.
    pub fn beside(self, other: &Self) -> Self {
        Self {
            start: other.start,
            column: other.column,
            columns: other.columns,
            ..self
        }
    }

    /// How long is shown, in seconds.
    pub fn span(&self) -> f64 {
        self.column * self.columns as f64
    }

    fn first_tick(&self, column: usize) -> u64 {
        let at = (self.start + column as f64 * self.column) / self.tick;
        if self.column < self.tick {
            (at + 1e-6).floor() as u64
        } else {
            at.round() as u64
        }
    }
}

/// What comes before the first round, and as many rounds as show what it is like.
pub(super) fn usual(round: &Round, random: bool) -> f64 {
    let least = if random { RANDOM } else { SHORTEST };
    let length = round.length.seconds().max(1e-3);
    let rounds = (least / length).ceil().max(1.0);
    (round.lead.seconds() + rounds * length).min(LONGEST)
}

/// The shortest column that lets `span` fit in `room`: a round number, or a whole part of a tick.
pub(super) fn column(span: f64, room: f64, tick: f64) -> f64 {
    let least = span / room;
    if least < tick {
        return tick / (tick / least).floor();
    }
    let power = 10f64.powf(least.log10().floor());
    ROUND_NUMBERS
        .iter()
        .chain(&[10.0])
        .map(|number| number * power)
        .find(|&column| column >= least * (1.0 - 1e-9))
        .unwrap_or(10.0 * power)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_last_a_round_number_and_fill_most_of_the_room() {
        for (span, expected) in [(8.0, 0.1), (6.25, 0.08), (7200.0, 100.0), (1.0, 0.0125)] {
            let column = column(span, 80.0, 0.004);
            assert!((column - expected).abs() < 1e-9, "{span}: {column}");
        }
    }

    #[test]
    fn a_tick_longer_than_a_column_is_cut_evenly() {
        assert!((column(0.04, 80.0, 0.004) - 0.0005).abs() < 1e-12);
    }

    #[test]
    fn short_rounds_are_shown_several_times_and_long_ones_whole() {
        let usual = |lead, length, random: bool| {
            let round = Round {
                length: Time::from_millis(length),
                lead: Time::from_millis(lead),
                exact: !random,
            };
            usual(&round, random)
        };
        assert!((usual(0, 300, false) - 1.2).abs() < 1e-9);
        assert!((usual(0, 7_200_000, false) - 7200.0).abs() < 1e-9);
        assert!((usual(0, 550, true) - 10.45).abs() < 1e-9);
        assert!((usual(3_000, 2_000, false) - 5.0).abs() < 1e-9);
        assert!((usual(0, 1_000_000_000, false) - LONGEST).abs() < 1e-9);
    }
}
