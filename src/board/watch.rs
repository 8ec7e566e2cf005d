//! Follows the light as it goes on, and notes its changes.

use super::flash::{Busiest, Change, LEAST, NEAR, busiest, counts};
use crate::units::{Luminance, Seconds};

/// Somebody who watches the light as it goes on, and can be asked at any time what came of it.
#[derive(Debug, Clone)]
pub(super) struct Watch {
    step: Seconds,
    /// Lights seen.
    seen: usize,
    swing: Option<Swing>,
    ended: Vec<Change>,
}

impl Watch {
    /// `step` is the time from one light to the next.
    pub(super) fn new(step: Seconds) -> Self {
        Self {
            step,
            seen: 0,
            swing: None,
            ended: Vec::new(),
        }
    }

    /// The next light.
    pub(super) fn see(&mut self, light: Luminance) {
        let at = Seconds(self.step.0 * self.seen as f64);
        let swing = self.swing.get_or_insert_with(|| Swing::new(light.0));
        self.ended.extend(swing.feed(at, light.0));
        self.seen += 1;
    }

    /// A light from a step on; it has stayed as it was until then.
    pub(super) fn see_at(&mut self, step: usize, light: Luminance) {
        self.seen = step;
        self.see(light);
    }

    /// The next light, for so many steps: as [`see`](Self::see) so many times, but at once.
    pub(super) fn see_for(&mut self, light: Luminance, steps: usize) {
        if steps > 0 {
            self.see(light);
            self.seen += steps - 1;
        }
    }

    /// The second with the most flashes up to now, the first of equals.
    pub(super) fn busiest(&self) -> Busiest {
        busiest(&self.changes())
    }

    /// A watch that goes on as this one does, without what it has seen: it counts steps from here, each
    /// of them as one second. Many that have seen different things go on alike.
    pub(super) fn onward(&self) -> Self {
        let swing = self.swing.clone().map(|swing| Swing {
            current: swing.current.map(|change| Change {
                at: Seconds(0.0),
                from: Luminance(if change.to.0 > change.from.0 {
                    f64::NEG_INFINITY
                } else {
                    f64::INFINITY
                }),
                to: change.to,
            }),
            ..swing
        });
        Self {
            step: Seconds(1.0),
            seen: 0,
            swing,
            ended: Vec::new(),
        }
    }

    /// What tells watches apart in how they [go on](Self::onward).
    pub(super) fn outlook(&self) -> Outlook {
        let onward = self.onward().swing?;
        let (from, to) = onward
            .current
            .map_or((0.0, 0.0), |change| (change.from.0, change.to.0));
        Some([onward.least, onward.most, from, to].map(f64::to_bits))
    }

    /// The busiest second of what this one has seen and what [another](Self::onward) saw that went on
    /// from here.
    pub(super) fn busiest_with(&self, onward: &Self) -> Busiest {
        let mut changes = self.ended.clone();
        let mut later = onward.all_changes();
        // One that had begun before has gone on.
        if let Some((begun, went_on)) = self.current().and_then(|own| Some((own, later.next()?))) {
            changes.push(Change {
                to: went_on.to,
                ..begun
            });
        }
        changes.extend(later.map(|change| Change {
            at: Seconds(self.step.0 * (self.seen as f64 + change.at.0)),
            ..change
        }));
        changes.retain(counts);
        busiest(&changes)
    }

    pub(super) fn changes(&self) -> Vec<Change> {
        self.all_changes().filter(counts).collect()
    }

    fn all_changes(&self) -> impl Iterator<Item = Change> {
        self.ended.iter().copied().chain(self.current())
    }

    /// The change that goes on.
    fn current(&self) -> Option<Change> {
        self.swing.as_ref()?.current
    }
}

/// The state from which a watch goes on, bit for bit; `None`: it has seen nothing.
pub(super) type Outlook = Option<[u64; 4]>;

/// Follows the light from extreme to extreme.
#[derive(Debug, Clone)]
struct Swing {
    least: f64,
    most: f64,
    current: Option<Change>,
}

impl Swing {
    fn new(light: f64) -> Self {
        Self {
            least: light,
            most: light,
            current: None,
        }
    }

    /// Takes the next light; gives a change that has ended, as the opposite one begins.
    fn feed(&mut self, at: Seconds, light: f64) -> Option<Change> {
        self.least = self.least.min(light);
        self.most = self.most.max(light);
        let rises = light - self.least >= LEAST - NEAR;
        let falls = self.most - light >= LEAST - NEAR;
        match &mut self.current {
            // The change goes on.
            Some(change) if change.to.0 > change.from.0 && !falls => {
                change.to.0 = change.to.0.max(light);
                self.least = light;
                None
            }
            Some(change) if change.to.0 < change.from.0 && !rises => {
                change.to.0 = change.to.0.min(light);
                self.most = light;
                None
            }
            None if !rises && !falls => None,
            _ => {
                let from = if rises { self.least } else { self.most };
                (self.least, self.most) = (light, light);
                self.current.replace(Change {
                    at,
                    from: Luminance(from),
                    to: Luminance(light),
                })
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const STEP: Seconds = Seconds(0.01);

    proptest! {
        /// Wherever a course is cut, the second half may be seen by itself.
        #[test]
        fn who_goes_on_from_there_sees_the_same(
            lights in prop::collection::vec(0_u8..=10, 1..400),
            cut in 0_usize..400
        ) {
            let lights: Vec<Luminance> =
                lights.iter().map(|&tenths| Luminance(f64::from(tenths) / 10.0)).collect();
            let (before, after) = lights.split_at(cut.min(lights.len() - 1));
            let mut whole = Watch::new(STEP);
            let mut first = Watch::new(STEP);
            before.iter().for_each(|&light| first.see(light));
            let mut second = first.onward();
            after.iter().for_each(|&light| second.see(light));
            lights.iter().for_each(|&light| whole.see(light));
            prop_assert_eq!(first.busiest_with(&second), whole.busiest());
        }
    }
}
