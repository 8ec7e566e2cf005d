//! The language of the firmware, for the commands that write or compile it.

use clap::{Args, ValueEnum};

use duskloom::emit::Language;

/// What the firmware is written in.
#[derive(Debug, Args)]
pub(super) struct LanguageChoice {
    /// Language of the firmware
    #[arg(long = "to", value_name = "LANGUAGE", value_enum, default_value_t)]
    to: To,
}

#[derive(Debug, Clone, Copy, Default, ValueEnum)]
enum To {
    /// C and assembly for avr-gcc
    #[default]
    C,
    /// A crate for any microcontroller, and a firmware around it for the chip
    Rust,
}

impl LanguageChoice {
    pub(super) fn language(&self) -> Language {
        match self.to {
            To::C => Language::C,
            To::Rust => Language::Rust,
        }
    }
}
