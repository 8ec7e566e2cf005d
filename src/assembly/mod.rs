//! Assembly text read the way the assembler reads it: one instruction a line. From it come sizes
//! that are exact on every core, the deepest stack, and the longest time.

mod longest;

use std::collections::BTreeMap;

use crate::units::Bytes;

pub use longest::Rounds;

/// The instructions of some assembly text.
#[derive(Debug, Default)]
pub struct Listing {
    instructions: Vec<Instruction>,
    /// What comes after each instruction.
    next: Vec<Next>,
    /// Index of the instruction that follows each label. Local ones (`1:`) are only numbers.
    labels: BTreeMap<String, usize>,
    /// Local labels in order: number and index.
    local: Vec<(String, usize)>,
}

#[derive(Debug)]
struct Instruction {
    mnemonic: String,
    /// The last operand: where a jump goes.
    target: String,
}

/// What comes after an instruction.
#[derive(Debug, Clone, Copy)]
enum Next {
    On,
    Jump(usize),
    Either(usize),
    Call(usize),
    End,
}

/// Calls push a return address of two bytes on chips with up to 128 KB of flash (AVR instruction
/// set manual, DS40002198, `RCALL`).
const RETURN_ADDRESS: u32 = 2;

impl Listing {
    /// Reads assembly text as the templates write it: `;` begins a comment, directives begin with a
    /// dot, the preprocessor's lines with `#`.
    pub fn read(text: &str) -> Self {
        let mut listing = Self::default();
        for line in text.lines() {
            listing.line(line.split(';').next().unwrap_or_default().trim());
        }
        let all = 0..listing.instructions.len();
        listing.next = all.map(|at| listing.after(at)).collect();
        listing
    }

    fn line(&mut self, mut line: &str) {
        if line.starts_with('#') {
            return;
        }
        while let Some((label, rest)) = line.split_once(':') {
            let at = self.instructions.len();
            if label.bytes().all(|byte| byte.is_ascii_digit()) {
                self.local.push((label.into(), at));
            } else {
                self.labels.insert(label.into(), at);
            }
            line = rest.trim();
        }
        if line.is_empty() || line.starts_with('.') {
            return;
        }
        let (mnemonic, operands) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let target = operands.rsplit(',').next().unwrap_or_default().trim();
        self.instructions.push(Instruction {
            mnemonic: mnemonic.into(),
            target: target.into(),
        });
    }

    /// What the instructions take in flash.
    pub fn size(&self) -> Bytes {
        Bytes(self.instructions.iter().map(|one| 2 * one.words()).sum())
    }

    /// The deepest stack below what the caller of `label` has, its return address not counted.
    ///
    /// # Panics
    /// If there is no such label.
    pub fn stack(&self, label: &str) -> Bytes {
        Bytes(self.stack_at(self.labels[label], &mut BTreeMap::new()))
    }

    fn stack_at(&self, entry: usize, known: &mut BTreeMap<usize, u32>) -> u32 {
        if let Some(depth) = known.get(&entry) {
            return *depth;
        }
        known.insert(entry, 0); // A function that calls itself would go on for ever.
        let mut deepest = 0;
        let mut seen: BTreeMap<usize, u32> = BTreeMap::new();
        let mut ahead = vec![(entry, 0_u32)];
        while let Some((at, depth)) = ahead.pop() {
            if at >= self.instructions.len() || seen.get(&at).is_some_and(|other| *other >= depth) {
                continue;
            }
            seen.insert(at, depth);
            let depth = match self.instructions[at].mnemonic.as_str() {
                "push" => depth + 1,
                "pop" => depth.saturating_sub(1),
                _ => depth,
            };
            deepest = deepest.max(depth);
            match self.next[at] {
                Next::On => ahead.push((at + 1, depth)),
                // There the stack is set up anew.
                Next::Jump(to) if self.labels.get("reset") == Some(&to) => {}
                Next::Jump(to) => ahead.push((to, depth)),
                Next::Either(to) => ahead.extend([(to, depth), (at + 1, depth)]),
                Next::Call(to) => {
                    deepest = deepest.max(depth + RETURN_ADDRESS + self.stack_at(to, known));
                    ahead.push((at + 1, depth));
                }
                Next::End => {}
            }
        }
        known.insert(entry, deepest);
        deepest
    }

    fn after(&self, at: usize) -> Next {
        let one = &self.instructions[at];
        let target = || self.find(&one.target, at);
        match one.mnemonic.as_str() {
            "ret" | "reti" => Next::End,
            // To the next instruction: it only takes time.
            "rjmp" if one.target == "." => Next::On,
            "rjmp" | "jmp" => target().map_or(Next::End, Next::Jump),
            "rcall" | "call" => target().map_or(Next::On, Next::Call),
            skip if skips(skip) => Next::Either(at + 2),
            branch if branch.starts_with("br") && branch != "break" => {
                target().map_or(Next::On, Next::Either)
            }
            _ => Next::On,
        }
    }

    /// Where a label is, as seen from an instruction.
    fn find(&self, target: &str, from: usize) -> Option<usize> {
        if let Some(number) = target.strip_suffix('f') {
            let place = self.local.iter().find(|(n, at)| n == number && *at > from);
            if let Some((_, at)) = place {
                return Some(*at);
            }
        }
        if let Some(number) = target.strip_suffix('b') {
            let place = self
                .local
                .iter()
                .rfind(|(n, at)| n == number && *at <= from);
            if let Some((_, at)) = place {
                return Some(*at);
            }
        }
        self.labels.get(target).copied()
    }
}

fn skips(mnemonic: &str) -> bool {
    matches!(mnemonic, "cpse" | "sbrc" | "sbrs" | "sbic" | "sbis")
}

impl Instruction {
    /// Words of flash (AVR instruction set manual, DS40002198).
    fn words(&self) -> u32 {
        match self.mnemonic.as_str() {
            "lds" | "sts" | "jmp" | "call" => 2,
            _ => 1,
        }
    }

    /// Clock cycles, a branch not taken (the same manual, on chips with a 16-bit program counter).
    fn cycles(&self) -> u32 {
        match self.mnemonic.as_str() {
            "ret" | "reti" | "call" => 4,
            "lpm" | "rcall" | "jmp" => 3,
            "adiw" | "sbiw" | "ld" | "ldd" | "lds" | "st" | "std" | "sts" | "push" | "pop"
            | "mul" | "rjmp" => 2,
            skip if skips(skip) => 2,
            _ => 1,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Cycles;

    const TEXT: &str = "
; A comment: with a colon.
        .equ    SIZE, 4
outer:  push    r28
        rcall   inner           ; two bytes more
        pop     r28
        ret
inner:  ldi     r24, 8
1:      lsr     r22
        brcc    2f
        add     r24, r20
2:      dec     r24
        brne    1b
        lds     r24, 0x60
        ret
";

    fn thrice(_: &str) -> Rounds {
        Rounds {
            group: "all",
            most: 3,
        }
    }

    #[test]
    fn instructions_have_one_word_or_two() {
        // 12 instructions, one of them `lds`.
        assert_eq!(Listing::read(TEXT).size(), Bytes(26));
    }

    #[test]
    fn the_stack_counts_what_is_pushed_and_where_calls_return() {
        let listing = Listing::read(TEXT);
        assert_eq!(listing.stack("inner"), Bytes(0));
        assert_eq!(listing.stack("outer"), Bytes(3));
    }

    #[test]
    fn a_loop_takes_its_longest_way_as_often_as_said() {
        let listing = Listing::read(TEXT);
        // Once through: ldi 1, lsr 1, brcc 1, add 1, dec 1, brne 1, lds 2, ret 4. A round more: lsr
        // to dec 4, and brne taken 2 (instruction set manual).
        assert_eq!(listing.longest("inner", &thrice), Cycles(12 + 2 * 6));
        // push 2, rcall 3, pop 2, ret 4.
        assert_eq!(listing.longest("outer", &thrice), Cycles(11 + 24));
    }

    #[test]
    fn a_way_ends_where_it_is_told_to() {
        let listing = Listing::read("a: inc r1\n breq c\n inc r1\nc: ret\n");
        assert_eq!(listing.longest("a", &thrice), Cycles(7));
        assert_eq!(listing.longest_before("a", "c", &thrice), Cycles(3));
    }
}
