//! Assembly text read the way the assembler reads it: one instruction a line. From it come sizes
//! that are exact on every core, the deepest stack, and the longest time.

use std::collections::BTreeMap;

use crate::units::{Bytes, Cycles};

/// The instructions of some assembly text.
#[derive(Debug, Default)]
pub struct Listing {
    instructions: Vec<Instruction>,
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
    next: Next,
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
        for at in 0..listing.instructions.len() {
            listing.instructions[at].next = listing.next(at);
        }
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
            next: Next::On, // Until all labels are known.
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
            match self.instructions[at].next {
                Next::On => ahead.push((at + 1, depth)),
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

    /// The longest time from `label` to its return. `rounds` says how often at most the code from a
    /// label on is gone through, for every label that something jumps back to: a local label goes
    /// by the name of the one before it. Those of one group take turns.
    ///
    /// # Panics
    /// If there is no such label.
    pub fn longest(&self, label: &str, rounds: &dyn Fn(&str) -> Rounds) -> Cycles {
        Cycles(self.longest_at(self.labels[label], None, rounds, &mut BTreeMap::new()))
    }

    /// The same, for the ways that do not come past the label `stop`, which are looked at up to
    /// there.
    ///
    /// # Panics
    /// If there is no such label.
    pub fn longest_before(
        &self,
        label: &str,
        stop: &str,
        rounds: &dyn Fn(&str) -> Rounds,
    ) -> Cycles {
        let stop = Some(self.labels[stop]);
        Cycles(self.longest_at(self.labels[label], stop, rounds, &mut BTreeMap::new()))
    }

    fn longest_at(
        &self,
        entry: usize,
        stop: Option<usize>,
        rounds: &dyn Fn(&str) -> Rounds,
        called: &mut BTreeMap<usize, u32>,
    ) -> u32 {
        let mut walk = Walk {
            listing: self,
            stop,
            rounds,
            called,
            costs: BTreeMap::new(),
            heads: BTreeMap::new(),
        };
        let straight = walk.from(entry, None).unwrap_or(0);
        // Loops are found while walking, and those within loops while walking those.
        let mut groups: BTreeMap<&'static str, (u32, u32)> = BTreeMap::new();
        let mut sum = straight;
        for head in walk.heads.clone().into_keys() {
            let Rounds { group, most } = rounds(self.name_of(head));
            walk.costs.clear();
            let once = walk.from(head, Some(head)).unwrap_or(0);
            let worst = groups.entry(group).or_default();
            *worst = (worst.0.max(once), worst.1.max(most));
        }
        for (once, most) in groups.into_values() {
            sum = sum.saturating_add(once.saturating_mul(most.saturating_sub(1)));
        }
        sum
    }

    /// The named label at an instruction, or the last before it.
    fn name_of(&self, at: usize) -> &str {
        self.labels
            .iter()
            .filter(|(_, place)| **place <= at)
            .max_by_key(|(_, place)| **place)
            .map_or("", |(name, _)| name)
    }

    fn next(&self, at: usize) -> Next {
        let one = &self.instructions[at];
        let target = || self.find(&one.target, at);
        match one.mnemonic.as_str() {
            "ret" | "reti" => Next::End,
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

/// How often at most a loop is gone through, counted together with others of its group.
#[derive(Debug, Clone, Copy)]
pub struct Rounds {
    pub group: &'static str,
    pub most: u32,
}

/// A search for the longest path, which takes no jump back.
struct Walk<'a> {
    listing: &'a Listing,
    stop: Option<usize>,
    rounds: &'a dyn Fn(&str) -> Rounds,
    /// How long what is called takes, by its first instruction.
    called: &'a mut BTreeMap<usize, u32>,
    /// The longest way on from an instruction; `None`: none that ends where it should.
    costs: BTreeMap<usize, Option<u32>>,
    /// Where jumps back go.
    heads: BTreeMap<usize, ()>,
}

impl Walk<'_> {
    /// From an instruction to the end, or to a jump back to `goal`.
    fn from(&mut self, at: usize, goal: Option<usize>) -> Option<u32> {
        if at >= self.listing.instructions.len() {
            return None;
        }
        if self.stop == Some(at) {
            return goal.is_none().then_some(0);
        }
        if let Some(cost) = self.costs.get(&at) {
            return *cost;
        }
        let one = &self.listing.instructions[at];
        let own = one.cycles();
        let cost = match one.next {
            Next::End => goal.is_none().then_some(own),
            Next::On => self.from(at + 1, goal).map(|on| own + on),
            Next::Jump(to) => self.jump(at, to, goal).map(|on| own + on),
            Next::Either(to) => {
                let taken = self.jump(at, to, goal).map(|on| own + 1 + on);
                let on = self.from(at + 1, goal).map(|on| own + on);
                taken.max(on)
            }
            Next::Call(to) => {
                let inside = self.call(to);
                self.from(at + 1, goal).map(|on| own + inside + on)
            }
        };
        self.costs.insert(at, cost);
        cost
    }

    fn call(&mut self, to: usize) -> u32 {
        if let Some(cycles) = self.called.get(&to) {
            return *cycles;
        }
        let (listing, rounds) = (self.listing, self.rounds);
        let cycles = listing.longest_at(to, None, rounds, self.called);
        self.called.insert(to, cycles);
        cycles
    }

    fn jump(&mut self, from: usize, to: usize, goal: Option<usize>) -> Option<u32> {
        if to > from {
            return self.from(to, goal);
        }
        self.heads.insert(to, ());
        (goal == Some(to)).then_some(0)
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
