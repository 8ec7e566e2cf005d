//! What programs are called, by people and by assemblers.

use std::fmt;

/// What a program plays. No two programs of a score have the same name.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
pub enum ProgramName {
    Pattern {
        pattern: String,
        /// The first channel that plays it; `None`: the first program of its pattern.
        channel: Option<String>,
    },
    /// Level `n` of `count`.
    Steady { n: u8, count: u8 },
    /// Channels that a pattern leaves dark.
    Dark,
}

impl ProgramName {
    /// As a label of generated assembly: `play_evening`, `play_evening.on_tower`.
    ///
    /// A pattern or channel can have any name, that of an instruction, a macro or another table too.
    /// Its label is its own all the same: nothing else that is generated, included or built into an
    /// assembler or a preprocessor begins with `play_` or `on_`, and names have no full stop.
    pub fn label(&self) -> String {
        let word = |name: &str| name.replace('-', "_");
        match self {
            Self::Pattern {
                pattern,
                channel: None,
            } => format!("play_{}", word(pattern)),
            Self::Pattern {
                pattern,
                channel: Some(channel),
            } => format!("play_{}.on_{}", word(pattern), word(channel)),
            Self::Steady { n, count } => format!("steady_{n}_of_{count}"),
            Self::Dark => "dark".to_string(),
        }
    }

    /// A place within the program that something goes to; counted from 1.
    pub fn place(&self, number: usize) -> String {
        format!("{}.{number}", self.label())
    }
}

/// As a person reads it.
impl fmt::Display for ProgramName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pattern {
                pattern,
                channel: None,
            } => f.write_str(pattern),
            Self::Pattern {
                pattern,
                channel: Some(channel),
            } => write!(f, "{pattern} on {channel}"),
            Self::Steady { n, count } => write!(f, "steady {n} of {count}"),
            Self::Dark => f.write_str("dark"),
        }
    }
}

#[cfg(test)]
mod tests {
    use std::collections::HashMap;

    use proptest::prelude::*;

    use super::*;

    fn name() -> impl Strategy<Value = String> {
        // Few letters, so that names are alike; and what labels are made of.
        prop_oneof![
            "[ab]([ab1-]{0,4}[ab1])?",
            "(play|on|steady|dark)(-[a1]){0,2}"
        ]
    }

    fn program() -> impl Strategy<Value = ProgramName> {
        prop_oneof![
            8 => (name(), proptest::option::of(name()))
                .prop_map(|(pattern, channel)| ProgramName::Pattern { pattern, channel }),
            1 => (1_u8..9, 1_u8..9).prop_map(|(n, count)| ProgramName::Steady { n, count }),
            1 => Just(ProgramName::Dark),
        ]
    }

    proptest! {
        #[test]
        fn no_two_programs_or_places_have_the_same_label(
            programs in proptest::collection::hash_set(program(), 2..40),
        ) {
            let mut meant = HashMap::new();
            for program in &programs {
                let labels = (1..4).map(|n| program.place(n)).chain([program.label()]);
                for (place, label) in labels.enumerate() {
                    let other = meant.insert(label.clone(), (program, place));
                    prop_assert!(other.is_none(), "{label}: {program} and {other:?}");
                }
            }
        }
    }
}
