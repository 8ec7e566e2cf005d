//! The values of C macros, as avr-libc's headers write them.

use std::collections::HashMap;
use std::process::Command;

/// The macros that are defined for a chip once `<avr/io.h>` is read.
///
/// # Panics
/// If there is no avr-gcc.
pub(super) fn macros_of(chip: &str) -> Macros {
    let output = Command::new("avr-gcc")
        .args([
            &format!("-mmcu={chip}"),
            "-E",
            "-dM",
            "-include",
            "avr/io.h",
            "-xc",
            "/dev/null",
        ])
        .output()
        .expect("avr-gcc runs");
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let text = String::from_utf8(output.stdout).unwrap();
    let define = |line: &str| {
        let (name, body) = line.strip_prefix("#define ")?.split_once(' ')?;
        Some((name.to_string(), body.to_string()))
    };
    Macros(text.lines().filter_map(define).collect())
}

/// Macro bodies by name.
pub(super) struct Macros(HashMap<String, String>);

impl Macros {
    pub(super) fn has(&self, name: &str) -> bool {
        self.0.contains_key(name)
    }

    pub(super) fn text(&self, name: &str) -> Option<&str> {
        self.0.get(name).map(String::as_str)
    }

    /// What the macro comes to. Registers come to their address in the data space, vectors to their
    /// number. `None`: not defined, or not a number.
    pub(super) fn value(&self, name: &str) -> Option<i64> {
        let mut parser = Parser {
            macros: self,
            rest: self.0.get(name)?.as_str(),
        };
        let value = parser.shifted()?;
        parser.rest.trim().is_empty().then_some(value)
    }
}

/// Just enough of C's expressions: numbers, names, sums, products, shifts, `&`, `~`, casts.
struct Parser<'a> {
    macros: &'a Macros,
    rest: &'a str,
}

impl<'a> Parser<'a> {
    fn eat(&mut self, token: &str) -> bool {
        let rest = self.rest.trim_start();
        match rest.strip_prefix(token) {
            Some(after) => {
                self.rest = after;
                true
            }
            None => false,
        }
    }

    fn word(&mut self) -> &'a str {
        let rest = self.rest.trim_start();
        let end = rest
            .find(|c: char| !c.is_alphanumeric() && c != '_')
            .unwrap_or(rest.len());
        self.rest = &rest[end..];
        &rest[..end]
    }

    fn shifted(&mut self) -> Option<i64> {
        let mut value = self.sum()?;
        while self.eat("<<") {
            value <<= self.sum()?;
        }
        Some(value)
    }

    fn sum(&mut self) -> Option<i64> {
        let mut value = self.product()?;
        loop {
            value = if self.eat("+") {
                value + self.product()?
            } else if self.eat("-") {
                value - self.product()?
            } else if self.eat("&") {
                value & self.product()?
            } else {
                return Some(value);
            };
        }
    }

    fn product(&mut self) -> Option<i64> {
        let mut value = self.single()?;
        while self.eat("*") {
            value *= self.single()?;
        }
        Some(value)
    }

    fn single(&mut self) -> Option<i64> {
        if self.eat("(unsigned char)") {
            return self.single().map(|value| value & 0xFF);
        }
        if self.eat("~") {
            return self.single().map(|value| !value);
        }
        if self.eat("(") {
            let value = self.shifted()?;
            return self.eat(")").then_some(value);
        }
        let word = self.word();
        if word.starts_with(|c: char| c.is_ascii_digit()) {
            return number(word);
        }
        let offset = match word {
            "_SFR_IO8" | "_SFR_IO16" => 0x20,
            "_SFR_MEM8" | "_SFR_MEM16" | "_VECTOR" | "_BV" => 0,
            name => return self.macros.value(name),
        };
        let argument = self.eat("(").then(|| self.sum())??;
        let value = if word == "_BV" {
            1 << argument
        } else {
            argument + offset
        };
        self.eat(")").then_some(value)
    }
}

fn number(text: &str) -> Option<i64> {
    let text = text.trim_end_matches(['u', 'U', 'l', 'L']);
    match text.strip_prefix("0x").or_else(|| text.strip_prefix("0X")) {
        Some(hex) => i64::from_str_radix(hex, 16).ok(),
        None => text.parse().ok(),
    }
}
