//! When the steps of the project begin, seen from the programs that the model plays.

use crate::diagnostic::Span;
use crate::player::{Channel, Player};
use crate::score::{Address, Image, Length, Op};

/// The lines of all programs of a project, by the address after each.
#[derive(Clone)]
pub struct Lines {
    /// Rising.
    ends: Vec<Address>,
    lines: Vec<Line>,
}

/// Watches the channels of a player. Several lines may come from one step: the pieces of an eased
/// fade, the flashes of a rhythm.
pub struct Steps<'a> {
    lines: &'a Lines,
    /// By channel.
    channels: Vec<Watched>,
}

/// A line of a program.
#[derive(Debug, Clone, Copy)]
struct Line {
    /// Among all lines of all programs.
    index: usize,
    /// The first of the operations that take no time straight before it, or itself.
    entry: usize,
    /// The step it comes from.
    step: Span,
}

#[derive(Debug, Clone, Copy)]
struct Watched {
    line: Option<Line>,
    began: bool,
}

impl Lines {
    /// The lines of an image.
    pub fn new(image: &Image) -> Self {
        let programs = image.score.programs.iter();
        let mut found = Self {
            ends: Vec::new(),
            lines: Vec::new(),
        };
        let mut at = 0;
        let mut entry = 0;
        for (index, line) in programs.flat_map(|program| &program.lines).enumerate() {
            at += image.format.size(&line.op).0;
            found.ends.push(Address(at as u16));
            found.lines.push(Line {
                index,
                entry,
                step: line.span,
            });
            let takes_time = match line.op {
                Op::Jump { length, .. } => length != Length::default(),
                Op::Slow { .. } => false,
                _ => true,
            };
            if takes_time {
                entry = index + 1;
            }
        }
        found
    }

    /// The step that a channel plays, if what it plays comes from one.
    pub fn step(&self, channel: &Channel) -> Option<Span> {
        let line = self.of(channel)?;
        (line.step != Span::default()).then_some(line.step)
    }

    /// The line that a channel plays.
    fn of(&self, channel: &Channel) -> Option<Line> {
        let place = self.ends.binary_search(&channel.next()).ok()?;
        Some(self.lines[place])
    }
}

impl<'a> Steps<'a> {
    /// Begins to watch a player that has just started.
    pub fn new(lines: &'a Lines, player: &Player) -> Self {
        let watch = |channel: &Channel| {
            let line = lines.of(channel);
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
            let line = self.lines.of(channel);
            // What the compiler adds to keep a dark channel dark comes from no step.
            if line.is_none_or(|line| line.step == Span::default()) {
                continue;
            }
            // A line that does not simply follow the one before it is its step once more.
            watched.began = match (watched.line, line) {
                (Some(before), Some(now)) => {
                    let follows = now.entry <= before.index + 1 && before.index < now.index;
                    before.step != now.step || !follows
                }
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
