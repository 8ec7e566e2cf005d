//! The light of a scene over time, and how two of them differ.

use crate::design::Design;
use crate::player::{Generator, Player};
use crate::preview::{self, Lines, Steps};
use crate::units::{DeltaLightness, Lightness};

use super::{ChannelChange, SpanChange};

/// Side by side, a difference of about 1 in L* is just noticeable.
const SEEN: f64 = 1.0;
/// Spans to the same side, no further apart than this, in seconds, are one.
const NEAR: f64 = 0.25;

/// What a scene does, as the model plays it from the state of a new chip.
pub(super) struct Played {
    /// Seconds.
    step: f64,
    channels: Vec<Line>,
}

/// What one channel does.
struct Line {
    name: String,
    /// Step by step.
    light: Vec<f64>,
    /// When steps of the project begin, in seconds.
    begins: Vec<f64>,
}

impl Played {
    /// Plays a scene for `span` seconds; keeps the light every `step` seconds, and when the steps of
    /// the first `round` seconds begin.
    pub(super) fn play(design: &Design, scene: usize, step: f64, span: f64, round: f64) -> Self {
        let tick = design.grid.tick_seconds();
        let count = (span / step).round().max(1.0) as usize;
        let lights = preview::lights(design);
        let names = design.project.channels.iter();
        let mut channels: Vec<Line> = names
            .map(|channel| Line {
                name: channel.name.value.clone(),
                light: Vec::with_capacity(count),
                begins: Vec::new(),
            })
            .collect();
        let first = Generator::new(Generator::FIRST);
        let mut player = Player::playing(&design.deck, first, scene);
        let lines = Lines::new(&design.deck.image);
        let mut steps = Steps::new(&lines, &player);
        let mut now = 0_u64;
        for at in 0..count {
            let due = (at as f64 * step / tick + 1e-6).floor() as u64;
            while now < due {
                let ticks = u64::from(player.still() + 1).min(due - now);
                player.advance(ticks);
                steps.look(&player);
                now += ticks;
                for (line, began) in channels.iter_mut().zip(steps.began()) {
                    if began && now as f64 * tick < round - tick / 2.0 {
                        line.begins.push(now as f64 * tick);
                    }
                }
            }
            for (id, level) in player.levels().enumerate() {
                channels[id].light.push(lights[id][usize::from(level.0)].0);
            }
        }
        Self { step, channels }
    }
}

/// The channels of both that differ. Those of only one are told elsewhere.
pub(super) fn compare(old: &Played, new: &Played) -> Vec<ChannelChange> {
    let mut changes = Vec::new();
    for after in &new.channels {
        let before = old.channels.iter().find(|line| line.name == after.name);
        if let Some(before) = before
            && before.light != after.light
        {
            changes.push(change(before, after, new.step));
        }
    }
    changes
}

fn change(before: &Line, after: &Line, step: f64) -> ChannelChange {
    let differences = before.light.iter().zip(&after.light).map(|(a, b)| b - a);
    let mut most = (0.0_f64, 0);
    let mut spans: Vec<SpanChange> = Vec::new();
    for (at, difference) in differences.enumerate() {
        if difference.abs() > most.0.abs() {
            most = (difference, at);
        }
        if difference.abs() < SEEN {
            continue;
        }
        let (from, to) = (at as f64 * step, (at + 1) as f64 * step);
        match spans.last_mut() {
            Some(span) if from - span.to <= NEAR && span.most.0.signum() == difference.signum() => {
                span.to = to;
                if difference.abs() > span.most.0.abs() {
                    span.most = DeltaLightness(difference);
                }
            }
            _ => spans.push(SpanChange {
                from,
                to,
                most: DeltaLightness(difference),
            }),
        }
    }
    let mean = |light: &[f64]| Lightness(light.iter().sum::<f64>() / light.len() as f64);
    ChannelChange {
        channel: after.name.clone(),
        most: DeltaLightness(most.0),
        most_at: most.1 as f64 * step,
        spans,
        mean: [mean(&before.light), mean(&after.light)],
        later: later(&before.begins, &after.begins),
    }
}

/// The largest shift of a step, if each has its counterpart and any is shifted.
fn later(before: &[f64], after: &[f64]) -> Option<(f64, f64)> {
    if before.len() != after.len() {
        return None;
    }
    let shifts = before.iter().zip(after).map(|(a, b)| (b - a, *a));
    let largest = shifts.fold((0.0_f64, 0.0), |most, shift| {
        if shift.0.abs() > most.0.abs() + 1e-9 {
            shift
        } else {
            most
        }
    });
    (largest.0.abs() > 1e-6).then_some(largest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(light: &[f64], begins: &[f64]) -> Line {
        Line {
            name: "quay".to_string(),
            light: light.to_vec(),
            begins: begins.to_vec(),
        }
    }

    #[test]
    fn spans_are_where_it_can_be_seen() {
        let before = line(&[10.0; 8], &[0.0]);
        let after = line(&[10.0, 10.5, 14.0, 13.0, 10.0, 10.0, 10.0, 5.0], &[0.0]);
        let change = change(&before, &after, 0.1);
        let seen: Vec<(f64, f64)> = change
            .spans
            .iter()
            .map(|span| ((span.from * 10.0).round(), (span.to * 10.0).round()))
            .collect();
        assert_eq!(seen, [(2.0, 4.0), (7.0, 8.0)]);
        assert!((change.most.0 + 5.0).abs() < 1e-9);
        assert!((change.most_at - 0.7).abs() < 1e-9);
    }

    #[test]
    fn shifts_are_told_where_each_step_has_its_counterpart() {
        assert_eq!(later(&[0.0, 1.0], &[0.0, 1.5]), Some((0.5, 1.0)));
        assert_eq!(later(&[0.0, 1.0], &[0.0, 1.0]), None);
        assert_eq!(later(&[0.0, 1.0], &[0.0]), None);
    }
}
