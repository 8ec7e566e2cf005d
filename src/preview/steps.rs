//! When the steps of the project begin, seen from the programs that the model plays.

use std::collections::BTreeMap;

use crate::diagnostic::Span;
use crate::player::Player;
use crate::score::{Address, Image};

/// Watches the channels of a player. Several lines may come from one step: the pieces of an eased
/// fade, the flashes of a rhythm.
pub struct Steps {
    /// The lines of all programs, by the address after each.
    lines: BTreeMap<Address, Line>,
    /// By channel.
    channels: Vec<Watched>,
}

/// A line of a program.
#[derive(Debug, Clone, Copy)]
struct Line {
    /// Among all lines of all programs.
    index: usize,
    /// The step it comes from.
    step: Span,
}

#[derive(Debug, Clone, Copy)]
struct Watched {
    line: Option<Line>,
    began: bool,
}

impl Steps {
    /// Begins to watch a player that has just started.
    pub fn new(image: &Image, player: &Player) -> Self {
        let mut lines = BTreeMap::new();
        let mut at = 0;
        for (index, line) in image
            .score
            .programs
            .iter()
            .flat_map(|program| &program.lines)
            .enumerate()
        {
            at += image.format.size(&line.op).0;
            let step = line.span;
            lines.insert(Address(at as u16), Line { index, step });
        }
        let watch = |channel: &crate::player::Channel| {
            let line: Option<Line> = lines.get(&channel.next()).copied();
            Watched {
                line,
                began: channel.begins() && line.is_some_and(|line| line.step != Span::default()),
            }
        };
        Self {
            channels: player.channels().iter().map(watch).collect(),
            lines,
        }
    }

    /// Looks at the player after each of its ticks.
    pub fn look(&mut self, player: &Player) {
        for (watched, channel) in self.channels.iter_mut().zip(player.channels()) {
            watched.began = false;
            if !channel.begins() {
                continue;
            }
            let line = self.lines.get(&channel.next()).copied();
            // What the compiler adds to keep a dark channel dark comes from no step.
            if line.is_none_or(|line| line.step == Span::default()) {
                continue;
            }
            // Back at a line it has passed, or at the same one, it is the step once more.
            watched.began = match (watched.line, line) {
                (Some(before), Some(now)) => before.step != now.step || now.index <= before.index,
                _ => true,
            };
            watched.line = line;
        }
    }

    /// By channel, whether a step began with this tick.
    pub fn began(&self) -> impl Iterator<Item = bool> {
        self.channels.iter().map(|watched| watched.began)
    }
}
