//! The colour of a string's light.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use crate::diagnostic::{Diagnostic, Report, Span, short};
use crate::spec::project;
use crate::spec::read::{Quantity, Read, Words, nearest, quantity, words, wrong_shape};
use crate::spec::yaml::{Node, Value};
use crate::units::{Kelvin, Nanometres};

/// A colour, such as `2700 K`.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) struct Glow(pub project::Glow);

/// Colours by their names.
#[derive(Debug, Clone, Copy)]
pub(in crate::spec) enum GlowWord {
    Candle,
    WarmWhite,
    NeutralWhite,
    CoolWhite,
    White,
    Red,
    Orange,
    Amber,
    Yellow,
    Green,
    Cyan,
    Blue,
    Violet,
}

// Whites: nominal temperatures of ANSI C78.377 (from memory); a candle and dominant wavelengths: common practice,
// no source.
words! {
    GlowWord, "a colour of light": {
        "candle" => Candle: "1850 K",
        "warm-white" => WarmWhite: "2700 K",
        "neutral-white" => NeutralWhite: "4000 K",
        "cool-white" => CoolWhite: "5700 K",
        "white" => White: "6500 K, of day",
        "red" => Red: "625 nm",
        "orange" => Orange: "605 nm",
        "amber" => Amber: "592 nm",
        "yellow" => Yellow: "587 nm",
        "green" => Green: "525 nm",
        "cyan" => Cyan: "505 nm",
        "blue" => Blue: "470 nm",
        "violet" => Violet: "410 nm",
    }
}

/// What is hotter or cooler has no colour of its own, or none that a lamp has.
const WHITES: (Kelvin, Kelvin) = (Kelvin(1000.0), Kelvin(20_000.0));
/// What an eye sees at all.
const SEEN: (Nanometres, Nanometres) = (Nanometres(380.0), Nanometres(780.0));

impl Read for Glow {
    fn expected() -> String {
        "a colour of light such as `warm white`, `2700 K`, `590 nm` or `\"#FFB050\"`".into()
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let Value::Scalar(scalar) = &node.value else {
            wrong_shape::<Self>(node, report);
            return None;
        };
        let light = light(scalar.text.trim(), node.span);
        light.map(Self).map_err(|fault| report.push(fault)).ok()
    }

    /// YAML takes a colour as screens have it for a comment, unless it is in quotes.
    fn nothing(node: &Node, report: &mut Report) -> Option<Self> {
        let rest = report.sources.after(node.span);
        let rest = rest.lines().next().unwrap_or_default();
        let rest = rest.trim_start_matches(':').trim();
        if let Some(colour) = rest.get(..7).filter(|text| screen(text).is_some()) {
            let message = format!("`{colour}` is a comment");
            report.push(
                Diagnostic::error("S010", node.span, message)
                    .label(format!("expected {}", Self::expected()))
                    .hint(format!(
                        "YAML takes what follows a `#` for a comment: put it in quotes, `\"{colour}\"`"
                    )),
            );
        }
        None
    }
}

fn light(text: &str, span: Span) -> Result<project::Glow, Diagnostic> {
    if text.starts_with('#') {
        return of_screen(text, span);
    }
    if text.starts_with(|c: char| c.is_ascii_digit() || c == '-') {
        return figure(text, span);
    }
    let word = text.to_lowercase().replace([' ', '_'], "-");
    let mut known = GlowWord::WORDS.iter();
    match known.find(|(known, ..)| *known == word) {
        // What it means begins with its figure.
        Some((.., meaning)) => figure(meaning.split(',').next().unwrap_or_default(), span),
        None => {
            let message = format!("`{}` is not {}", short(text), GlowWord::WHAT);
            let meant = nearest(&word, GlowWord::WORDS.iter().map(|(word, ..)| *word));
            Err(Diagnostic::error("S017", span, message)
                .label(format!("expected {}", GlowWord::all()))
                .hint(match meant {
                    Some(meant) => format!("did you mean `{meant}`?"),
                    None if screen(&format!("#{text}")).is_some() => {
                        format!("did you mean `\"#{text}\"`?")
                    }
                    None => {
                        "or a temperature such as `2700 K`, a wavelength such as `590 nm`, or a \
                             screen's colour such as `\"#FFB050\"`"
                            .to_string()
                    }
                }))
        }
    }
}

/// A number with its unit.
fn figure(text: &str, span: Span) -> Result<project::Glow, Diagnostic> {
    let bare = text.chars().all(|c| c.is_ascii_digit() || c == '.');
    if bare {
        let number: f64 = text.parse().unwrap_or_default();
        let unit = if number < WHITES.0.0 { "nm" } else { "K" };
        return Err(
            Diagnostic::error("S014", span, format!("`{}` has no unit", short(text)))
                .label("a temperature is written with `K`, a wavelength with `nm`")
                .hint(format!("such as `{} {unit}`", short(text))),
        );
    }
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || ".- ".contains(c));
    if unit.to_lowercase().ends_with('m') && !unit.contains(' ') {
        let wavelength = quantity(text, span)?;
        within(wavelength, SEEN, span, "no eye sees what is beyond")?;
        return Ok(project::Glow::Pure(wavelength));
    }
    let temperature = quantity(text, span)?;
    within(
        temperature,
        WHITES,
        span,
        "a candle has 1850 K, the sky at noon 6500 K",
    )?;
    Ok(project::Glow::White(temperature))
}

fn within<Q: Quantity>(
    value: Q,
    (least, most): (Q, Q),
    span: Span,
    hint: &str,
) -> Result<(), Diagnostic> {
    if least <= value && value <= most {
        return Ok(());
    }
    let message = format!("`{value}` is out of range");
    Err(Diagnostic::error("S016", span, message)
        .label(format!("expected {least} to {most}"))
        .hint(hint))
}

/// A colour as screens have it.
fn of_screen(text: &str, span: Span) -> Result<project::Glow, Diagnostic> {
    let fault = |message: String, label: &str, hint: Option<String>| {
        let fault = Diagnostic::error("S015", span, message);
        Err(fault.label(label).maybe_hint(hint))
    };
    match screen(text) {
        Some([0, 0, 0]) => fault(
            format!("`{text}` is no light"),
            "expected the colour of full light",
            Some("how bright it is, patterns say".into()),
        ),
        Some(colour) => Ok(project::Glow::Screen(colour)),
        None => {
            let digits = &text[1..];
            let doubled: String = digits.chars().flat_map(|digit| [digit; 2]).collect();
            let meant = screen(&format!("#{doubled}")).map(|_| format!("such as `\"#{doubled}\"`"));
            fault(
                format!("`{}` is not a screen's colour", short(text)),
                "expected `#` and six digits of base 16: red, green, blue",
                meant,
            )
        }
    }
}

/// `#RRGGBB`.
fn screen(text: &str) -> Option<[u8; 3]> {
    let digits = text.strip_prefix('#')?;
    let sound = digits.len() == 6 && digits.bytes().all(|byte| byte.is_ascii_hexdigit());
    let part = |at: usize| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok();
    sound.then_some(())?;
    Some([part(0)?, part(2)?, part(4)?])
}

impl JsonSchema for Glow {
    fn schema_name() -> Cow<'static, str> {
        "Glow".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let hyphened = GlowWord::WORDS
            .iter()
            .filter(|(word, ..)| word.contains('-'));
        let spaced: Vec<_> = hyphened.map(|(word, ..)| word.replace('-', " ")).collect();
        json_schema!({
            "description": Self::expected(),
            "anyOf": [
                generator.subschema_for::<GlowWord>(),
                { "enum": spaced },
                generator.subschema_for::<Kelvin>(),
                generator.subschema_for::<Nanometres>(),
                { "type": "string", "pattern": "^#[0-9A-Fa-f]{6}$" },
            ],
        })
    }
}
