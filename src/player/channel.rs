//! One channel's player: a program counter, and a line being drawn.

use crate::player::Generator;
use crate::score::{Address, Code, Image, Outcome, Run, SLOW_UNIT};
use crate::units::{Level, Ticks};

/// The state of one channel, as in the chip's memory.
#[derive(Debug, Clone, Default)]
pub struct Channel {
    /// Address of the program.
    home: u16,
    /// Address of the next byte.
    at: u16,
    /// In how many times [`SLOW_UNIT`] ticks the line goes on once; 0: in each tick, as most do.
    slow: u8,
    /// Ticks until a slow line goes on.
    pause: u16,
    /// Ticks of the whole line.
    length: u16,
    /// Line drawing: what is left before the level moves.
    debt: u16,
    /// Line drawing: how many levels the line spans; 1 for a hold, which is a line of one step that
    /// moves nothing; 0 for what stays for ever.
    distance: u8,
    goal: Level,
    /// What is shown.
    pub level: Level,
    /// Fraction of a tick carried from line to line.
    carry: u16,
    /// Rounds passed, by slot.
    rounds: [u8; 8],
    /// Its own generator, where channels must be able to agree.
    pub(super) generator: Option<Generator>,
    /// What it drew on its way to this tick.
    pub(super) drawn: Vec<Outcome>,
}

/// Half a tick: the carry at the start, so that boundaries are rounded to nearest.
const HALF: i32 = 0x8000;

impl Channel {
    /// At the start of a run's program.
    pub(super) fn start(&mut self, image: &Image, run: &Run, generator: &mut Generator) {
        *self = Self {
            home: image.programs[run.program].0,
            at: image.programs[run.program].0,
            level: run.initial,
            carry: (HALF - i32::from(run.remainder) * 256) as u16,
            ..Self::default()
        };
        self.fetch(image, generator);
    }

    /// At a level, for ever: no step of its line is ever due.
    pub(super) fn stay(&mut self, level: Level) {
        *self = Self {
            length: 1,
            level,
            goal: level,
            ..Self::default()
        };
    }

    /// Moves on by one tick.
    pub(super) fn step(&mut self, image: &Image, generator: &mut Generator) {
        if self.slow > 0 {
            self.pause -= 1;
            if self.pause > 0 {
                return;
            }
            self.pause = self.pace();
        }
        let mut debt = i32::from(self.debt) - i32::from(self.distance);
        while debt < 0 {
            if self.level == self.goal {
                self.slow = 0;
                return self.fetch(image, generator);
            }
            if self.level < self.goal {
                self.level.0 += 1;
            } else {
                self.level.0 -= 1;
            }
            // Half a length came before the first step, the other half comes after the last.
            debt += i32::from(match self.level == self.goal {
                true => self.length / 2,
                false => self.length,
            });
        }
        self.debt = debt as u16;
    }

    /// In how many ticks its line goes on once.
    fn pace(&self) -> u16 {
        match self.slow {
            0 => 1,
            units => u16::from(units) * SLOW_UNIT,
        }
    }

    /// How long a line of so many steps takes.
    fn lasts(&self, steps: u16) -> Ticks {
        Ticks(u32::from(steps) * u32::from(self.pace()))
    }

    /// Ticks until its line goes on.
    fn due(&self) -> u32 {
        match self.slow {
            0 => 1,
            _ => self.pause.into(),
        }
    }

    /// Moves on by one tick; what it draws comes from its own generator, or else from `common`.
    pub(super) fn step_drawing(&mut self, image: &Image, common: &mut Generator) {
        match self.generator {
            Some(mut own) => {
                self.step(image, &mut own);
                self.generator = Some(own);
            }
            None => self.step(image, common),
        }
    }

    /// Whether it is, after ticks that it is still for, where another is after such ticks.
    pub(super) fn is_after(&self, ticks: u32, other: &Self, others: u32) -> bool {
        let place = |channel: &Self| (channel.home, channel.at, channel.carry, channel.rounds);
        let line = |channel: &Self, ticks: u32| {
            let (slow, length, distance) = (channel.slow, channel.length, channel.distance);
            (channel.after(ticks), slow, length, distance)
        };
        let shown = |channel: &Self| (channel.level, channel.goal, channel.generator);
        place(self) == place(other)
            && line(self, ticks) == line(other, others)
            && shown(self) == shown(other)
    }

    /// For how many ticks more neither its level moves nor its line ends.
    pub(super) fn still(&self) -> u32 {
        let steps = self.debt.checked_div(self.distance.into()).unwrap_or(0);
        self.due() - 1 + u32::from(steps) * u32::from(self.pace())
    }

    /// Moves on by ticks that it is still for.
    pub(super) fn pass(&mut self, ticks: u32) {
        let (debt, due) = self.after(ticks);
        self.debt = debt;
        if self.slow > 0 {
            self.pause = due as u16;
        }
    }

    /// Debt, and the ticks until its line goes on, after ticks that it is still for.
    fn after(&self, ticks: u32) -> (u16, u32) {
        let pace = u32::from(self.pace());
        let Some(beyond) = ticks.checked_sub(self.due()) else {
            return (self.debt, self.due() - ticks);
        };
        let steps = (beyond / pace + 1) as u16;
        let debt = self.debt - steps * u16::from(self.distance);
        (debt, pace - beyond % pace)
    }

    /// Whether the line it plays began with this tick.
    pub fn begins(&self) -> bool {
        let to_go = self.goal.0.abs_diff(self.level.0);
        let unmoved = to_go == self.distance || self.is_hold();
        self.distance > 0
            && unmoved
            && self.debt == self.first_debt(to_go)
            && self.due() == u32::from(self.pace())
    }

    /// Whether it is in a line that moves nothing. One that has reached its goal owes less.
    fn is_hold(&self) -> bool {
        self.level == self.goal && self.debt == self.length - 1
    }

    /// What a line begins with that spans so many levels.
    fn first_debt(&self, distance: u8) -> u16 {
        let all = self.length - 1;
        if distance == 0 { all } else { all / 2 }
    }

    /// Where the program goes on after the line it plays.
    pub fn next(&self) -> Address {
        Address(self.at)
    }

    fn byte(&mut self, image: &Image) -> u8 {
        let byte = image.bytes[usize::from(self.at)];
        self.at += 1;
        byte
    }

    fn address(&mut self, image: &Image) -> Address {
        let low = self.byte(image);
        let high = if image.format.long_addresses {
            self.byte(image)
        } else {
            0
        };
        Address(u16::from_le_bytes([low, high]))
    }

    fn ticks(&mut self, image: &Image) -> u16 {
        let first = self.byte(image);
        self.rest_of_ticks(first, image)
    }

    fn rest_of_ticks(&mut self, first: u8, image: &Image) -> u16 {
        if image.format.long_ticks {
            u16::from_be_bytes([first, self.byte(image)])
        } else {
            u16::from(first)
        }
    }

    /// Length without flags, with the carry added.
    fn length(&mut self, first: u8, image: &Image) -> u16 {
        let ticks = self.rest_of_ticks(first, image);
        if !image.format.fractions {
            return ticks;
        }
        let fraction = u16::from_le_bytes([self.byte(image), self.byte(image)]);
        let (carry, over) = self.carry.overflowing_add(fraction);
        self.carry = carry;
        ticks + u16::from(over)
    }

    /// Reads operations up to one that takes time.
    fn fetch(&mut self, image: &Image, generator: &mut Generator) {
        loop {
            let first = self.byte(image);
            let operation = image
                .format
                .code(first)
                .map_or(Operation::Line, Operation::Coded);
            let (length, goal) = match operation {
                Operation::Coded(Code::Again) => {
                    self.at = self.home;
                    continue;
                }
                Operation::Coded(Code::Goto) => {
                    self.at = self.address(image).0;
                    continue;
                }
                Operation::Line => {
                    let length = self.length(first, image);
                    (length, Level(self.byte(image)))
                }
                Operation::Coded(Code::Jump) => {
                    let first = self.byte(image);
                    let length = self.length(first, image);
                    self.level = Level(self.byte(image));
                    (length, self.level)
                }
                Operation::Coded(Code::Random | Code::RandomJump) => {
                    let low = self.ticks(image);
                    let length = low + generator.draw(self.ticks(image));
                    let low = self.byte(image);
                    let goal = Level(low + generator.draw(u16::from(self.byte(image))) as u8);
                    self.drawn.push(Outcome::Random(self.lasts(length), goal));
                    if operation == Operation::Coded(Code::RandomJump) {
                        self.level = goal;
                    }
                    (length, goal)
                }
                Operation::Coded(Code::Keep) => {
                    let low = self.ticks(image);
                    let length = low + generator.draw(self.ticks(image));
                    generator.advance();
                    self.drawn.push(Outcome::Keep(self.lasts(length)));
                    (length, self.level)
                }
                Operation::Coded(Code::Wait) => {
                    let first = self.byte(image);
                    (self.length(first, image), self.level)
                }
                Operation::Coded(Code::Slow) => {
                    self.slow = self.byte(image);
                    self.pause = self.pace();
                    continue;
                }
                Operation::Coded(Code::Repeat) => {
                    self.repeat(image);
                    continue;
                }
                Operation::Coded(Code::Branch) => {
                    let branches = u16::from(self.byte(image));
                    let drawn = generator.draw(branches);
                    self.drawn.push(Outcome::Branch(drawn as u8));
                    self.at += drawn * image.format.address() as u16;
                    self.at = self.address(image).0;
                    continue;
                }
            };
            if length > 0 {
                let distance = goal.0.abs_diff(self.level.0);
                self.length = length;
                self.debt = self.first_debt(distance);
                self.goal = goal;
                self.distance = distance.max(1);
                return;
            }
        }
    }

    fn repeat(&mut self, image: &Image) {
        let slot = if image.format.slots > 1 {
            self.byte(image)
        } else {
            0
        };
        let count = self.byte(image);
        let to = self.address(image);
        let left = &mut self.rounds[usize::from(slot)];
        if *left == 0 {
            *left = count;
        }
        *left -= 1;
        if *left > 0 {
            self.at = to.0;
        }
    }
}

#[derive(PartialEq)]
enum Operation {
    Line,
    Coded(Code),
}
