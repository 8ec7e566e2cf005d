//! What a circuit is drawn with: symbols, wires, names of nets. All in pixels, from a block's top left.

use serde::Serialize;

use crate::light::Tint;

/// A place in a block.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub(super) struct At {
    pub(super) x: i32,
    pub(super) y: i32,
}

impl At {
    pub(super) const fn new(x: i32, y: i32) -> Self {
        Self { x, y }
    }

    pub(super) const fn by(self, x: i32, y: i32) -> Self {
        Self {
            x: self.x + x,
            y: self.y + y,
        }
    }
}

/// From end to end of a part with two legs.
pub(super) const PART: i32 = 50;
/// From a transistor's base to its collector or emitter, along either axis.
pub(super) const REACH: i32 = 30;
/// Of a letter, on the wide side.
pub(super) const LETTER: i32 = 7;
/// Of a line of words.
const LINE: i32 = 14;

/// Parts as `templates/svg/circuit.svg.j2` draws them: the first leg at the place itself, the second
/// [`PART`] to its right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Symbol {
    Resistor,
    Capacitor,
    Electrolytic,
    Schottky,
    Led,
    Fuse,
    Cells,
    Button,
    /// Open, with a lever.
    Contact,
    /// The same with a knob: it stays.
    Switch,
    Crystal,
    /// Its base at the place, collector and emitter [`REACH`] to the right, above and below.
    Npn,
    /// Its gate at the place, drain and source [`REACH`] to the right, above and below.
    Mosfet,
    Ground,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(super) enum Anchor {
    Start,
    Middle,
    End,
}

/// Something drawn.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "shape", rename_all = "kebab-case")]
pub(super) enum Stroke {
    Wire {
        points: Vec<At>,
        dashed: bool,
    },
    Dot {
        at: At,
    },
    Part {
        symbol: Symbol,
        at: At,
        /// In degrees clockwise.
        turn: i32,
    },
    /// The colour of the LED that goes down from here.
    Lens {
        at: At,
        tint: String,
    },
    Words {
        at: At,
        anchor: Anchor,
        words: String,
        bold: bool,
    },
    /// The name of a net: all that bear it are joined.
    Net {
        at: At,
        /// Which end of it the wire comes to.
        wire_right: bool,
        width: i32,
        words: String,
    },
    /// A rail that current comes from.
    Rail {
        at: At,
        words: String,
    },
    /// A leg of a package, with its number inside and what is on it outside.
    Leg {
        at: At,
        turn: i32,
        number: usize,
        name: String,
        net: String,
    },
    /// Where a package's first leg is.
    Notch {
        at: At,
    },
    Box {
        at: At,
        width: i32,
        height: i32,
        dashed: bool,
    },
}

/// A part of the circuit, drawn by itself: what it has in common with others is a net's name.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub(super) struct Block {
    pub(super) title: String,
    pub(super) width: i32,
    pub(super) height: i32,
    pub(super) strokes: Vec<Stroke>,
}

/// Draws a block.
#[derive(Debug, Default)]
pub(super) struct Ink {
    strokes: Vec<Stroke>,
}

impl Ink {
    pub(super) fn wire(&mut self, points: impl IntoIterator<Item = At>) {
        self.strokes.push(Stroke::Wire {
            points: points.into_iter().collect(),
            dashed: false,
        });
    }

    /// Stands for more of the same.
    pub(super) fn dashed(&mut self, from: At, to: At) {
        self.strokes.push(Stroke::Wire {
            points: vec![from, to],
            dashed: true,
        });
    }

    /// Where wires are joined.
    pub(super) fn dot(&mut self, at: At) {
        self.strokes.push(Stroke::Dot { at });
    }

    pub(super) fn part(&mut self, symbol: Symbol, at: At, turn: i32) {
        self.strokes.push(Stroke::Part { symbol, at, turn });
    }

    /// The colour of an LED that is drawn from here down.
    pub(super) fn lens(&mut self, at: At, tint: Tint) {
        let tint = tint.to_string();
        self.strokes.push(Stroke::Lens { at, tint });
    }

    /// A part from here down, its label to the right; gives its other end.
    pub(super) fn down(&mut self, symbol: Symbol, at: At, label: [&str; 2]) -> At {
        self.part(symbol, at, 90);
        self.label(at.by(16, PART / 2 - 2), Anchor::Start, label);
        at.by(0, PART)
    }

    /// The same with its label to the left.
    pub(super) fn down_left(&mut self, symbol: Symbol, at: At, label: [&str; 2]) -> At {
        self.part(symbol, at, 90);
        self.label(at.by(-14, PART / 2 - 2), Anchor::End, label);
        at.by(0, PART)
    }

    /// A part from here to the right, its label above; gives its other end.
    pub(super) fn across(&mut self, symbol: Symbol, at: At, label: [&str; 2]) -> At {
        self.part(symbol, at, 0);
        let above = match symbol {
            Symbol::Crystal => 18,
            _ => 12,
        };
        self.label(at.by(PART / 2, -above - LINE), Anchor::Middle, label);
        at.by(PART, 0)
    }

    /// A part's mark and, below it, its value.
    pub(super) fn label(&mut self, at: At, anchor: Anchor, [mark, value]: [&str; 2]) {
        self.strokes.push(Stroke::Words {
            at,
            anchor,
            words: mark.to_string(),
            bold: true,
        });
        self.words(at.by(0, LINE), anchor, value);
    }

    pub(super) fn words(&mut self, at: At, anchor: Anchor, words: &str) {
        self.strokes.push(Stroke::Words {
            at,
            anchor,
            words: words.to_string(),
            bold: false,
        });
    }

    /// A net's name, its wire going on to the right from here.
    pub(super) fn net(&mut self, at: At, words: &str) {
        self.named(at, true, words);
    }

    /// A net's name at the right end of a wire.
    pub(super) fn net_at_end(&mut self, at: At, words: &str) {
        self.named(at, false, words);
    }

    fn named(&mut self, at: At, wire_right: bool, words: &str) {
        self.strokes.push(Stroke::Net {
            at,
            wire_right,
            width: net_width(words),
            words: words.to_string(),
        });
    }

    pub(super) fn rail(&mut self, at: At, words: &str) {
        let words = words.to_string();
        self.strokes.push(Stroke::Rail { at, words });
    }

    /// Out of a package, its wire going on in a direction given in degrees clockwise from the right.
    pub(super) fn leg(&mut self, at: At, turn: i32, number: usize, name: &str, net: &str) {
        self.strokes.push(Stroke::Leg {
            at,
            turn,
            number,
            name: name.to_string(),
            net: net.to_string(),
        });
    }

    pub(super) fn notch(&mut self, at: At) {
        self.strokes.push(Stroke::Notch { at });
    }

    pub(super) fn ground(&mut self, at: At) {
        self.part(Symbol::Ground, at, 0);
    }

    pub(super) fn frame(&mut self, at: At, width: i32, height: i32) {
        self.boxed(at, width, height, false);
    }

    /// Around something that is there several times.
    pub(super) fn dashed_frame(&mut self, at: At, width: i32, height: i32) {
        self.boxed(at, width, height, true);
    }

    fn boxed(&mut self, at: At, width: i32, height: i32, dashed: bool) {
        self.strokes.push(Stroke::Box {
            at,
            width,
            height,
            dashed,
        });
    }

    /// All that was drawn, as large as it came to be.
    pub(super) fn block(self, title: impl Into<String>) -> Block {
        let title = title.into();
        let (mut width, mut height) = (width_of(&title) + 20, 0);
        for corner in self.strokes.iter().flat_map(Stroke::corners) {
            width = width.max(corner.x + 10);
            height = height.max(corner.y + 10);
        }
        Block {
            title,
            width,
            height,
            strokes: self.strokes,
        }
    }
}

impl Stroke {
    /// Left above and right below of what it takes.
    fn corners(&self) -> Vec<At> {
        match self {
            Self::Wire { points, .. } => points.clone(),
            Self::Dot { at }
            | Self::Notch { at }
            | Self::Leg { at, .. }
            | Self::Lens { at, .. } => vec![*at],
            Self::Part { symbol, at, turn } => {
                let (along, beside) = match symbol {
                    Symbol::Npn | Symbol::Mosfet => (REACH + 6, REACH),
                    Symbol::Ground => (12, 16),
                    _ => (PART, 14),
                };
                match turn.rem_euclid(180) {
                    0 => vec![at.by(0, -beside), at.by(along, beside)],
                    _ => vec![at.by(-beside, 0), at.by(beside, along)],
                }
            }
            Self::Words {
                at, anchor, words, ..
            } => {
                let width = width_of(words);
                let left = match anchor {
                    Anchor::Start => 0,
                    Anchor::Middle => -width / 2,
                    Anchor::End => -width,
                };
                vec![at.by(left, -LINE), at.by(left + width, 4)]
            }
            Self::Net {
                at,
                wire_right,
                width,
                ..
            } => {
                let left = if *wire_right { -width } else { 0 };
                vec![at.by(left, -10), at.by(left + width, 10)]
            }
            Self::Rail { at, words } => {
                let half = width_of(words) / 2;
                vec![at.by(-half, -26), at.by(half, 0)]
            }
            Self::Box {
                at, width, height, ..
            } => vec![*at, at.by(*width, *height)],
        }
    }
}

/// What words take, at the most.
pub(super) fn width_of(words: &str) -> i32 {
    LETTER * words.chars().count() as i32
}

/// What a net's name takes, with its point.
pub(super) fn net_width(words: &str) -> i32 {
    width_of(words) + 20
}
