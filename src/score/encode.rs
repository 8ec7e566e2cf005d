//! A score as the bytes that the player reads, row by row.

use serde::Serialize;

use crate::diagnostic::{Diagnostic, Severity};
use crate::score::format::{Code, Format, Widths};
use crate::score::program::{Label, Length, Line, Op, Program, Score, TickRange};
use crate::score::split::{most, split};
use crate::score::start::{self, Run};
use crate::units::{Bytes, Ticks};

/// A score in the form that is smallest for it.
#[derive(Debug, Clone)]
pub struct Image {
    pub format: Format,
    /// With every operation as the form can say it.
    pub score: Score,
    /// The programs, one after the other. Addresses count from the first byte.
    pub bytes: Vec<u8>,
    /// Address of each program.
    pub programs: Vec<Address>,
    /// The runs of each scene; none where the player works out a steady level.
    pub starts: Vec<Vec<Run>>,
    /// The bytes as a person reads them; addresses by name.
    pub rows: Vec<Listed>,
}

/// An offset into an image's bytes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct Address(pub u16);

/// One operation as written in the generated source.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Listed {
    /// Index of the program it is in.
    pub program: usize,
    /// A label in front of it.
    pub label: Option<String>,
    pub mnemonic: &'static str,
    pub operands: Vec<String>,
    pub note: String,
}

/// What the parts of the player that depend on the form cost, so that forms can be compared.
/// Measured with avr-gcc on the player's template.
const LONG_TICKS_CODE: u32 = 76;
const LONG_ADDRESSES_CODE: u32 = 8;
const SLOW_CODE: u32 = 50;

/// Addresses must fit 16 bits; far beyond any chip here.
const MOST_BYTES: u32 = 60_000;

/// Encodes a score in its smallest form. `before` is how many bytes of flash precede the programs:
/// they can be addressed by one byte only when they end below 256. `room` is how much memory a channel
/// may take before it has to do without a home.
///
/// # Errors
/// P003 a length that no form can say; P004 programs beyond any chip's flash.
pub fn encode(score: &Score, before: Bytes, room: Bytes) -> Result<Image, Vec<Diagnostic>> {
    let mut best: Option<(Bytes, Image)> = None;
    let mut problem = None;
    for widths in Widths::ALL {
        let format = Format::of(score, widths, room);
        if widths.slow && !is_long(score, &format) {
            continue;
        }
        // What is too large, or larger than what there is, is not written out to measure it.
        let most = best.as_ref().map_or(MOST_BYTES, |(least, _)| least.0);
        if least_size(score, &format) > u64::from(most) {
            continue;
        }
        let fitted = match split(score, &format) {
            Ok(fitted) => fitted,
            Err(line) => {
                problem = Some(line);
                continue;
            }
        };
        let starts = start::runs(&fitted, &format);
        let format = start::fit(format, &starts);
        let size = programs_size(&fitted, &format);
        let total = size.0 + starts_size(&starts, &format).0;
        // The index of scenes that are lists of runs has addresses too, beyond the programs.
        let addressed = if format.start.uniform { size.0 } else { total };
        if !widths.long_addresses && before.0 + addressed > 256 || size.0 > MOST_BYTES {
            continue;
        }
        let cost = Bytes(total + code_size(widths).0);
        if best.as_ref().is_none_or(|(least, _)| cost < *least) {
            best = Some((cost, write(fitted, format, starts)));
        }
    }
    match (best, problem) {
        (Some((_, image)), _) => Ok(image),
        (None, Some(line)) => Err(vec![too_long(&line)]),
        (None, None) => Err(vec![too_large(score)]),
    }
}

/// What the parts of the player that depend on the form take.
fn code_size(widths: Widths) -> Bytes {
    let parts = [
        (widths.long_ticks, LONG_TICKS_CODE),
        (widths.long_addresses, LONG_ADDRESSES_CODE),
        (widths.slow, SLOW_CODE),
    ];
    let used = parts.into_iter().filter(|(used, _)| *used);
    Bytes(used.map(|(_, size)| size).sum())
}

/// Whether anything lasts longer than one operation can say.
fn is_long(score: &Score, format: &Format) -> bool {
    let mut lines = score.programs.iter().flat_map(|program| &program.lines);
    lines.any(|line| match line.op {
        Op::Fade { length, .. } | Op::Jump { length, .. } | Op::Wait { length } => {
            length.ticks > format.longest()
        }
        Op::Random { ticks, .. } | Op::Keep { ticks } => ticks.highest() > format.longest_drawn(),
        _ => false,
    })
}

/// What the programs take at least, once they are split.
fn least_size(score: &Score, format: &Format) -> u64 {
    let programs = score.programs.iter();
    programs.map(|program| least_size_of(program, format)).sum()
}

fn least_size_of(program: &Program, format: &Format) -> u64 {
    let size = |line: &Line| {
        let parts = match line.op {
            Op::Fade { length, .. } | Op::Wait { length } if !format.slow => {
                length.ticks.0.div_ceil(format.longest().0).max(1)
            }
            _ => 1,
        };
        u64::from(format.size(&line.op).0) * u64::from(parts)
    };
    program.lines.iter().map(size).sum()
}

fn too_large(score: &Score) -> Diagnostic {
    let [.., format] = Widths::ALL.map(|widths| Format::of(score, widths, Bytes(0)));
    let sizes = score
        .programs
        .iter()
        .map(|program| (least_size_of(program, &format), program));
    let largest = sizes.max_by_key(|(size, _)| *size);
    let said = |size: u64| Bytes(u32::try_from(size).unwrap_or(u32::MAX));
    let all = said(least_size(score, &format));
    Diagnostic {
        severity: Severity::Error,
        code: "P004",
        span: largest.and_then(|(_, program)| program.lines.first().map(|line| line.span)),
        message: format!("the patterns come to {all}, more than any supported chip holds"),
        label: largest.map_or(String::new(), |(size, program)| {
            format!("from here on `{}` takes {}", program.name, said(size))
        }),
        hint: Some("use `repeat` for what recurs, and fewer or longer steps".into()),
    }
}

fn too_long(line: &Line) -> Diagnostic {
    Diagnostic {
        severity: Severity::Error,
        code: "P003",
        span: Some(line.span),
        message: "this takes longer than one operation of the player can".into(),
        label: format!("expected at most {} ticks", most(line).0),
        hint: Some("make it shorter, or ask for a longer `tick:`".into()),
    }
}

/// What the programs take.
fn programs_size(score: &Score, format: &Format) -> Bytes {
    let sizes = score.programs.iter();
    Bytes(sizes.map(|program| size_of(program, format).0).sum())
}

fn size_of(program: &Program, format: &Format) -> Bytes {
    let lines = program.lines.iter();
    Bytes(lines.map(|line| format.size(&line.op).0).sum())
}

/// What the table of starts takes, with its index where scenes have several runs.
pub fn starts_size(starts: &[Vec<Run>], format: &Format) -> Bytes {
    let records: usize = starts.iter().map(Vec::len).sum();
    let index = if format.start.uniform {
        0
    } else {
        let listed = starts.iter().filter(|runs| !runs.is_empty());
        listed.count() * format.address()
    };
    Bytes((records * format.start_record_size() + index) as u32)
}

fn write(score: Score, format: Format, starts: Vec<Vec<Run>>) -> Image {
    let mut at = 0;
    let mut addresses = Vec::new();
    let mut lines = Vec::new();
    for program in &score.programs {
        let mut own = Vec::new();
        for line in &program.lines {
            own.push(Address(at as u16));
            at += format.size(&line.op).0;
        }
        own.push(Address(at as u16));
        addresses.push(own[0]);
        lines.push(own);
    }
    let mut writer = Writer {
        format,
        bytes: Vec::with_capacity(at as usize),
        rows: Vec::new(),
    };
    for (index, (program, addresses)) in score.programs.iter().zip(&lines).enumerate() {
        writer.program(index, program, addresses);
    }
    Image {
        format,
        bytes: writer.bytes,
        rows: writer.rows,
        programs: addresses,
        starts,
        score,
    }
}

struct Writer {
    format: Format,
    bytes: Vec<u8>,
    rows: Vec<Listed>,
}

impl Writer {
    fn program(&mut self, index: usize, program: &Program, addresses: &[Address]) {
        let mut targets: Vec<usize> = program
            .lines
            .iter()
            .flat_map(|line| match &line.op {
                Op::Goto { to } | Op::Repeat { to, .. } => vec![to.0],
                Op::Branch { to } => to.iter().map(|to| to.0).collect(),
                _ => Vec::new(),
            })
            .filter(|line| *line > 0)
            .collect();
        targets.sort_unstable();
        targets.dedup();
        let label = |line: usize| match targets.binary_search(&line) {
            Ok(place) => program.name.place(place + 1),
            Err(_) => program.name.label(),
        };
        for (i, line) in program.lines.iter().enumerate() {
            let labelled = i == 0 || targets.binary_search(&i).is_ok();
            let (mnemonic, operands) = self.op(&line.op, addresses, &label);
            self.rows.push(Listed {
                program: index,
                label: labelled.then(|| label(i)),
                mnemonic,
                operands,
                note: line.note.clone(),
            });
        }
    }

    /// Writes the bytes; returns what a person reads.
    fn op(
        &mut self,
        op: &Op,
        addresses: &[Address],
        label: &impl Fn(usize) -> String,
    ) -> (&'static str, Vec<String>) {
        let mut text = Vec::new();
        let name = match op {
            Op::Fade { length, to } => {
                self.length(*length, &mut text);
                self.byte(to.0, &mut text);
                "fade"
            }
            Op::Jump { length, to } => {
                self.bytes.push(Code::Jump.byte());
                self.length(*length, &mut text);
                self.byte(to.0, &mut text);
                "jump"
            }
            Op::Random { jump, ticks, level } => {
                let code = if *jump {
                    Code::RandomJump
                } else {
                    Code::Random
                };
                self.bytes.push(code.byte());
                self.range(*ticks, &mut text);
                self.byte(level.low.0, &mut text);
                self.byte(level.span, &mut text);
                if *jump { "draw_jump" } else { "draw_fade" }
            }
            Op::Keep { ticks } => {
                self.bytes.push(Code::Keep.byte());
                self.range(*ticks, &mut text);
                "draw_hold"
            }
            Op::Wait { length } => {
                self.bytes.push(Code::Wait.byte());
                self.length(*length, &mut text);
                "wait"
            }
            Op::Slow { units } => {
                self.bytes.push(Code::Slow.byte());
                self.byte(*units, &mut text);
                "slow"
            }
            Op::Repeat { slot, count, to } => {
                self.bytes.push(Code::Repeat.byte());
                if self.format.slots > 1 {
                    self.byte(*slot, &mut text);
                }
                self.byte(*count, &mut text);
                self.address(addresses[to.0]);
                text.push(label(to.0));
                "repeat"
            }
            Op::Branch { to } => {
                self.bytes.push(Code::Branch.byte());
                self.byte(to.len() as u8 - 1, &mut text);
                for to in to {
                    self.address(addresses[to.0]);
                    text.push(label(to.0));
                }
                "branch"
            }
            Op::Goto { to: Label(0) } if self.format.home => {
                self.bytes.push(Code::Again.byte());
                "again"
            }
            Op::Goto { to } => {
                self.bytes.push(Code::Goto.byte());
                self.address(addresses[to.0]);
                text.push(label(to.0));
                "goto"
            }
        };
        (name, text)
    }

    fn byte(&mut self, byte: u8, text: &mut Vec<String>) {
        self.bytes.push(byte);
        text.push(byte.to_string());
    }

    fn length(&mut self, length: Length, text: &mut Vec<String>) {
        let ticks = length.ticks.0;
        if self.format.long_ticks {
            self.bytes.push((ticks >> 8) as u8);
            self.bytes.push(ticks as u8);
        } else {
            self.bytes.push(ticks as u8);
        }
        text.push(ticks.to_string());
        if self.format.fractions {
            self.bytes.extend(length.fraction.to_le_bytes());
            text.push(length.fraction.to_string());
        }
    }

    fn range(&mut self, ticks: TickRange, text: &mut Vec<String>) {
        for Ticks(ticks) in [ticks.low, ticks.span] {
            if self.format.long_ticks {
                self.bytes.push((ticks >> 8) as u8);
            }
            self.bytes.push(ticks as u8);
            text.push(ticks.to_string());
        }
    }

    fn address(&mut self, address: Address) {
        self.bytes.push(address.0 as u8);
        if self.format.long_addresses {
            self.bytes.push((address.0 >> 8) as u8);
        }
    }
}
