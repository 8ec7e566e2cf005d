//! The bytes say what the operations say, in every form; and the same project always gives the
//! same bytes.

use std::collections::BTreeSet;

use duskloom::score::{Code, Image, Label, Length, LevelRange, Op, TickRange};
use duskloom::units::{Level, Ticks};
use proptest::strategy::{Strategy, ValueTree};
use proptest::test_runner::TestRunner;

use crate::score::projects::recipe;
use crate::score::rig::{self, Rig};

/// Projects that are encoded and read back.
const CASES: usize = 400;

/// Reads the operations of a program back from its bytes. Jumps within it are byte addresses at
/// first.
struct Reader<'a> {
    image: &'a Image,
    at: usize,
}

impl Reader<'_> {
    fn byte(&mut self) -> u8 {
        self.at += 1;
        self.image.bytes[self.at - 1]
    }

    fn ticks_from(&mut self, first: u8) -> Ticks {
        let ticks = match self.image.format.long_ticks {
            true => u32::from(first) * 256 + u32::from(self.byte()),
            false => u32::from(first),
        };
        Ticks(ticks)
    }

    fn ticks(&mut self) -> Ticks {
        let first = self.byte();
        self.ticks_from(first)
    }

    fn length_from(&mut self, first: u8) -> Length {
        let ticks = self.ticks_from(first);
        let fraction = match self.image.format.fractions {
            true => u16::from(self.byte()) + 256 * u16::from(self.byte()),
            false => 0,
        };
        Length { ticks, fraction }
    }

    fn length(&mut self) -> Length {
        let first = self.byte();
        self.length_from(first)
    }

    fn range(&mut self) -> TickRange {
        TickRange {
            low: self.ticks(),
            span: self.ticks(),
        }
    }

    fn address(&mut self) -> Label {
        let low = usize::from(self.byte());
        Label(match self.image.format.long_addresses {
            true => low + 256 * usize::from(self.byte()),
            false => low,
        })
    }

    fn random(&mut self, jump: bool) -> Op {
        Op::Random {
            jump,
            ticks: self.range(),
            level: LevelRange {
                low: Level(self.byte()),
                span: self.byte(),
            },
        }
    }

    fn op(&mut self, home: usize) -> Op {
        let first = self.byte();
        match self.image.format.code(first) {
            None => Op::Fade {
                length: self.length_from(first),
                to: Level(self.byte()),
            },
            Some(Code::Again) => Op::Goto { to: Label(home) },
            Some(Code::Goto) => Op::Goto { to: self.address() },
            Some(Code::Jump) => Op::Jump {
                length: self.length(),
                to: Level(self.byte()),
            },
            Some(Code::Random) => self.random(false),
            Some(Code::RandomJump) => self.random(true),
            Some(Code::Keep) => Op::Keep {
                ticks: self.range(),
            },
            Some(Code::Wait) => Op::Wait {
                length: self.length(),
            },
            Some(Code::Slow) => Op::Slow { units: self.byte() },
            Some(Code::Repeat) => Op::Repeat {
                slot: match self.image.format.slots {
                    0 | 1 => 0,
                    _ => self.byte(),
                },
                count: self.byte(),
                to: self.address(),
            },
            Some(Code::Branch) => {
                let count = usize::from(self.byte()) + 1;
                Op::Branch {
                    to: (0..count).map(|_| self.address()).collect(),
                }
            }
        }
    }
}

/// The operations of all programs, read back.
fn decode(image: &Image) -> Vec<Vec<Op>> {
    let mut ends: Vec<usize> = image.programs.iter().map(|at| usize::from(at.0)).collect();
    ends.push(image.bytes.len());
    ends.windows(2)
        .map(|window| program(image, window[0], window[1]))
        .collect()
}

fn program(image: &Image, home: usize, end: usize) -> Vec<Op> {
    let mut reader = Reader { image, at: home };
    let (mut places, mut ops) = (Vec::new(), Vec::new());
    while reader.at < end {
        places.push(reader.at);
        ops.push(reader.op(home));
    }
    places.push(end);
    let line = |at: Label| Label(places.binary_search(&at.0).expect("the place of a line"));
    for op in &mut ops {
        match op {
            Op::Goto { to } | Op::Repeat { to, .. } => *to = line(*to),
            Op::Branch { to } => to.iter_mut().for_each(|to| *to = line(*to)),
            _ => {}
        }
    }
    ops
}

fn written(image: &Image) -> Vec<Vec<Op>> {
    let ops = |program: &duskloom::score::Program| {
        program.lines.iter().map(|line| line.op.clone()).collect()
    };
    image.score.programs.iter().map(ops).collect()
}

#[test]
fn bytes_read_back_are_the_operations_in_every_form() {
    let mut runner = TestRunner::deterministic();
    let mut forms = BTreeSet::new();
    let mut decoded = 0;
    for _ in 0..CASES {
        let project = recipe().new_tree(&mut runner).unwrap().current().project();
        let Ok(rig) = Rig::new(&project) else {
            continue;
        };
        let image = &rig.deck.image;
        assert_eq!(decode(image), written(image));
        let again = Rig::new(&project).expect("as before").deck.image;
        assert_eq!(again.bytes, image.bytes);
        assert_eq!(again.starts, image.starts);
        let format = &image.format;
        forms.insert((format.long_ticks, format.long_addresses, format.fractions));
        decoded += 1;
    }
    assert!(
        decoded > CASES / 2,
        "only {decoded} of {CASES} could be built"
    );
    let all = |form: fn(&(bool, bool, bool)) -> bool| {
        forms.iter().any(form) && forms.iter().any(|one| !form(one))
    };
    assert!(
        all(|form| form.0) && all(|form| form.1) && all(|form| form.2),
        "{forms:?}"
    );
}

/// In the long form a length below 256 ticks starts with a 0.
#[test]
fn short_lines_among_long_ones_are_played() {
    let project = rig::read(
        "chip: attiny2313a\nchannels: [quay]\ntick: 5 ms\npatterns:\n  dawn:\n    \
         - {to: 20 % .. 30 %, over: 10 s .. 11 s}\n    - {to: 100 %, over: 1 s}\n    \
         - {to: 0 %, over: 500 ms}\n",
    );
    let rig = Rig::new(&project).unwrap();
    assert!(rig.deck.image.format.long_ticks);
    assert_eq!(decode(&rig.deck.image), written(&rig.deck.image));
    let take = rig.play(0, 1, 2_600);
    let levels = &take.levels[0];
    let bright = levels.iter().rposition(|level| level.0 == 255).unwrap();
    let dark = levels[bright..]
        .iter()
        .position(|level| level.0 == 0)
        .unwrap();
    assert!(
        (98..=100).contains(&dark),
        "{dark} ticks to fade out in 500 ms"
    );
}
