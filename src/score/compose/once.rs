//! What is played once: its scenes, and how many ticks they play.

use super::Composing;
use crate::diagnostic::{Diagnostic, Span};
use crate::score::draw;
use crate::score::moves::{self, View};
use crate::score::program::{OnceRange, Origin, Role, Scene};
use crate::spec::{Once, Pattern, PatternId, Project};
use crate::units::{Ticks, Time};

/// Ticks are counted in two bytes.
const MOST: f64 = 65_535.0;

impl Composing {
    /// Scenes for what no show has are added.
    pub(super) fn once(
        &mut self,
        project: &Project,
        patterns: &[Vec<Role>],
        scenes: &mut Vec<Scene>,
    ) -> Vec<OnceRange> {
        let all: Vec<Once> = project.played_once().copied().collect();
        let one = |once: Once| {
            let scene = scene(project, once.pattern.value, patterns, scenes);
            let ticks = self.ticks_of(project, once)?;
            Some(OnceRange { scene, ticks })
        };
        all.into_iter().filter_map(one).collect()
    }

    /// `None` after an error.
    fn ticks_of(&mut self, project: &Project, once: Once) -> Option<Ticks> {
        let pattern = project.pattern(once.pattern.value);
        let (time, span) = match once.lasts {
            Some(lasts) => (lasts.value, lasts.span),
            None => match self.round(pattern) {
                Some(time) => (time, once.pattern.span),
                None => {
                    self.errors.push(endless(pattern, once.pattern.span));
                    return None;
                }
            },
        };
        let ticks = self.rules.grid.ticks(time).round().max(1.0);
        if ticks > MOST {
            self.errors.push(self.too_long(time, span));
            return None;
        }
        Some(Ticks(ticks as u32))
    }

    /// How long the longest track takes to come round. `None`: one does not, or takes as long as chance has it.
    fn round(&self, pattern: &Pattern) -> Option<Time> {
        let tracks = pattern.tracks.iter().flat_map(draw::resolve);
        let times = tracks.map(|draw::Resolved { track, plays }| {
            let view = View {
                track: &track,
                channel: *plays.first()?,
                top: self.rules.top,
            };
            moves::duration(&view.moves())
        });
        let times: Option<Vec<u64>> = times.collect();
        times?.into_iter().max().map(Time)
    }

    fn too_long(&self, time: Time, span: Span) -> Diagnostic {
        let longest = Time((MOST * self.rules.grid.tick_seconds()) as u64 * 1_000_000_000);
        Diagnostic::error(
            "P008",
            span,
            format!("{time} is too long to be played once"),
        )
        .label(format!("expected at most {longest} with this tick"))
        .hint("a longer `tick:`, or a shorter pattern")
    }
}

/// The scene of a pattern, which may be there already.
fn scene(project: &Project, id: PatternId, patterns: &[Vec<Role>], scenes: &mut Vec<Scene>) -> u8 {
    let origin = Origin::Pattern(id);
    let known = scenes.iter().position(|scene| scene.origin == origin);
    let at = known.unwrap_or_else(|| {
        scenes.push(Scene {
            name: project.pattern(id).name.value.clone(),
            origin,
            parts: patterns[usize::from(id.0)].clone(),
        });
        scenes.len() - 1
    });
    at as u8
}

fn endless(pattern: &Pattern, span: Span) -> Diagnostic {
    let message = format!("how long `{}` lasts is not known", pattern.name.value);
    Diagnostic::error("P008", span, message)
        .label("it never ends, or takes as long as chance has it")
        .hint("say how long it is played: `for: 10 s`")
}
