//! What each channel that plays a track does, and how far into it the channel starts.

use super::{Composing, MOST_AHEAD};
use crate::diagnostic::Span;
use crate::score::grid::Grid;
use crate::score::lower::Routine;
use crate::score::moves::{self, Move, View, What};
use crate::spec::{ChannelId, Step, Times, Track};
use crate::units::{Share, Time};

/// A channel's share of a track, before it has a program.
pub(super) struct Voice {
    pub channel: ChannelId,
    pub course: Routine,
    pub ahead: f64,
    pub stream: u8,
    /// The track's.
    pub span: Span,
}

impl Composing {
    /// What each channel that `plays` the track does. `stream` counts the streams of draws of the
    /// pattern.
    pub(super) fn voices(
        &self,
        track: &Track,
        plays: &[ChannelId],
        stream: &mut u8,
        voices: &mut Vec<Voice>,
    ) {
        let shared = !track.each;
        let places = track.channels.iter().enumerate();
        for (place, channel) in places.filter(|(_, channel)| plays.contains(channel)) {
            let all = View {
                track,
                channel: *channel,
                top: self.rules.top,
            }
            .moves();
            let place = place as u64;
            // Rounded where it comes to, so that channels far down a chase are not farther off.
            let behind = Time(track.stagger.value.0 * place);
            let behind_ticks = self.rules.grid.ticks(behind);
            let ahead = self.rules.grid.ticks(track.ahead.value);
            let (course, ahead) = match (endless(&all), moves::duration(&all)) {
                // It comes round again: being behind is being ahead of the next round.
                (None, Some(period)) if period > 0 => {
                    let period = self.rules.grid.ticks(Time(period));
                    let ahead = (ahead - behind_ticks).rem_euclid(period);
                    let (cycle, ahead) = turned(all, ahead, self.rules.grid);
                    let course = Routine {
                        intro: Vec::new(),
                        cycle,
                        steady: true,
                    };
                    (course, ahead)
                }
                (found, _) => {
                    let mut intro = Vec::new();
                    if behind.0 > 0 {
                        intro.push(Move {
                            what: What::Hold(behind),
                            span: track.stagger.span,
                        });
                    }
                    let cycle = match found {
                        Some(at) => {
                            intro.extend_from_slice(&all[..at]);
                            all[at..].to_vec()
                        }
                        None => all,
                    };
                    let course = Routine {
                        intro,
                        cycle,
                        steady: found.is_none(),
                    };
                    (course, ahead)
                }
            };
            voices.push(Voice {
                channel: *channel,
                course,
                ahead,
                stream: *stream,
                span: track.span,
            });
            if !shared {
                *stream += 1;
            }
        }
        if shared {
            *stream += 1;
        }
    }
}

/// A loop, and how far into it a channel starts, in ticks. Where that is too far to be run ahead, the
/// loop is turned to begin nearer: with the last move that has begun, or within it if it is a hold.
fn turned(mut cycle: Vec<Move>, ahead: f64, grid: Grid) -> (Vec<Move>, f64) {
    if ahead.round() <= f64::from(MOST_AHEAD.0) {
        return (cycle, ahead);
    }
    let mut begins = Time(0);
    for at in 0..cycle.len() {
        let own = moves::duration(&cycle[at..=at]).unwrap_or(0);
        let ends = Time(begins.0 + own);
        if grid.ticks(ends) > ahead {
            let mut into = ahead - grid.ticks(begins);
            cycle.rotate_left(at);
            if let What::Hold(time) = cycle[0].what
                && into.round() > f64::from(MOST_AHEAD.0)
            {
                let spent = Time((time.0 as f64 * into / grid.ticks(time)) as u64);
                cycle[0].what = What::Hold(Time(time.0 - spent.0));
                cycle.push(Move {
                    what: What::Hold(spent),
                    span: cycle[0].span,
                });
                into = 0.0;
            }
            return (cycle, into);
        }
        begins = ends;
    }
    (cycle, ahead)
}

/// Index of a last move that never ends.
fn endless(moves: &[Move]) -> Option<usize> {
    let last = moves.len().checked_sub(1)?;
    match &moves[last].what {
        What::Stay
        | What::Repeat {
            times: Times::Forever,
            ..
        }
        | What::Wave {
            cycles: Times::Forever,
            ..
        } => Some(last),
        _ => None,
    }
}

/// A track that is a single wave is the same wave on every channel, each behind the one before it.
pub(super) fn with_stagger(track: &Track, grid: Grid) -> Track {
    let mut track = track.clone();
    // For ever, by itself, is what a track does anyway.
    while let [step] = track.steps.as_mut_slice() {
        match &mut step.value {
            Step::Repeat {
                times: Times::Forever,
                steps,
            } => track.steps = std::mem::take(steps),
            Step::Wave(wave) if wave.cycles == Times::Forever => wave.cycles = Times::Count(1),
            _ => break,
        }
    }
    if let [step] = track.steps.as_mut_slice()
        && let Step::Wave(wave) = &mut step.value
        && track.channels.len() > 1
        && track.stagger.value.0 == 0
    {
        let lag = wave.period.value.0 as f64 * wave.spread.0.rem_euclid(1.0);
        let half = Time(wave.period.value.0 / 2);
        // Where both the lag and the wave's turns have to be rounded, that adds up.
        if lag.fract() == 0.0 && (grid.tells(Time(lag as u64)) || grid.tells(half)) {
            track.stagger.value = Time(lag as u64);
            wave.spread = Share(0.0);
        }
    }
    track
}
