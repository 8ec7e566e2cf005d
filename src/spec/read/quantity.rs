//! Numbers with units, and ranges of them.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};

use super::{Node, Read, Report, or_list, scalar};
use crate::diagnostic::{Diagnostic, Span, short};
use crate::spec::project::Drawn;
use crate::units::{
    AmpHours, Amps, Farads, Hertz, Kelvin, Lux, Nanometres, Ohms, Seconds, Share, Time, Volts,
    Watts,
};

/// A quantity that is written as a number and a unit.
pub(in crate::spec) trait Quantity: Copy + PartialOrd + std::fmt::Display {
    /// With its article: "a time".
    const NAME: &'static str;
    /// Each unit and how many base units it is.
    const UNITS: &'static [(&'static str, f64)];
    /// What people write for a unit, and the unit they mean.
    const MISTAKES: &'static [(&'static str, &'static str)];
    const EXAMPLE: &'static str;
    const RANGE: &'static str = "… .. …";
    /// Channels have it, each its own.
    const HAS_OWNERS: bool = false;
    /// The most that makes sense anywhere, in base units.
    const MOST: f64;
    /// The same as a person writes it.
    const MOST_WRITTEN: &'static str;

    fn from_base(value: f64) -> Self;

    /// What may be written, in words.
    fn in_words() -> String {
        format!("{} such as `{}`", Self::NAME, Self::EXAMPLE)
    }

    /// All its units, in words.
    fn units() -> String {
        or_list(Self::UNITS.iter().map(|(unit, _)| *unit))
    }

    /// Words that people write for one, and what they mean.
    const WORDS: &'static [(&'static str, &'static str)] = &[];

    /// What was probably meant by a number with the unit of something else.
    fn of_another_kind(_number: f64, _unit: &str) -> Option<String> {
        None
    }

    /// How a bare number was probably meant.
    fn with_unit(number: f64) -> String {
        let unit = Self::EXAMPLE.trim_start_matches(|c: char| c.is_ascii_digit());
        format!("such as `{number}{unit}`")
    }

    /// As a regular expression.
    fn pattern() -> String {
        let units: Vec<_> = Self::UNITS.iter().map(|(unit, _)| *unit).collect();
        format!(r"\d+(\.\d+)? *({})", units.join("|"))
    }
}

macro_rules! quantities {
    ($($type:ident),*) => { $(
        impl Read for $type {
            fn expected() -> String {
                Self::in_words()
            }

            fn read(node: &Node, report: &mut Report) -> Option<Self> {
                let text = scalar::<Self>(node, report)?.text.as_ref();
                noted(quantity(text, node.span), report)
            }
        }

        impl JsonSchema for $type {
            fn schema_name() -> Cow<'static, str> {
                stringify!($type).into()
            }

            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!({
                    "type": "string",
                    "description": Self::in_words(),
                    "pattern": format!("^{}$", Self::pattern()),
                })
            }
        }
    )* };
}

quantities!(
    Time, Hertz, Share, Volts, Amps, Ohms, Farads, Watts, AmpHours, Seconds, Kelvin, Nanometres,
    Lux
);

impl<Q: Quantity + Read> Read for Drawn<Q> {
    fn expected() -> String {
        format!("{}, or a range written `… .. …`", Q::expected())
    }

    fn read(node: &Node, report: &mut Report) -> Option<Self> {
        let text = scalar::<Self>(node, report)?.text.as_ref();
        let ends = text.split_once("..");
        let Some((low, high)) = ends.filter(|(_, high)| !high.starts_with('.')) else {
            let fixed = quantity(text, node.span).map_err(|fault| {
                let range = not_a_range::<Q>(text, node.span);
                range.unwrap_or_else(|| match two::<Q>(text) {
                    Some([low, high]) => {
                        fault.hint(format!("a range is written `{low} .. {high}`"))
                    }
                    None if fault.hint.is_none() && Q::HAS_OWNERS && is_name(text) => {
                        let (name, example) = (short(text.trim()), Q::EXAMPLE);
                        fault.hint(format!(
                            "that of one channel is written `{{{name}: {example}}}`"
                        ))
                    }
                    None if text.trim_start().to_lowercase().starts_with("rand") => {
                        fault.hint(format!("chance draws from a range: `{}`", Q::RANGE))
                    }
                    None => fault,
                })
            });
            return noted(fixed, report).map(Self::Fixed);
        };
        if low.trim().is_empty() || high.trim().is_empty() {
            report.push(
                Diagnostic::error("S015", node.span, "a range with one end")
                    .label(format!("expected {}", Self::expected())),
            );
            return None;
        }
        let meant = meant_range::<Q>(low, high);
        let low = quantity::<Q>(low, node.span).map_err(|fault| match meant {
            Some(meant) => fault.hint(meant),
            None => fault,
        });
        let low = noted(low, report);
        let high = noted(quantity::<Q>(high, node.span), report);
        let (low, high) = (low?, high?);
        if low > high {
            report.push(
                Diagnostic::error("S018", node.span, "a range that runs backwards")
                    .label("the lower end comes first")
                    .hint(format!("did you mean `{high} .. {low}`?")),
            );
            return None;
        }
        Some(if low == high {
            Self::Fixed(low)
        } else {
            Self::Between(low, high)
        })
    }
}

impl<Q: Quantity + JsonSchema> JsonSchema for Drawn<Q> {
    fn schema_name() -> Cow<'static, str> {
        format!("Drawn{}", Q::schema_name()).into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let one = Q::pattern();
        json_schema!({
            "type": "string",
            "description": format!("{}, or a range: two of them with `..` between", Q::in_words()),
            "pattern": format!(r"^{one}( *\.\. *{one})?$"),
        })
    }
}

/// A quantity that more words follow: the quantity and the words.
pub(in crate::spec) fn leading_quantity<Q: Quantity>(
    text: &str,
    span: Span,
) -> Result<(Q, &str), Diagnostic> {
    let (number, rest) = split_number(text);
    let unit = rest.split_whitespace().next().unwrap_or_default();
    let after = &rest[rest.find(unit).unwrap_or_default() + unit.len()..];
    Ok((quantity(&format!("{number} {unit}"), span)?, after.trim()))
}

/// A number and its unit, with or without a space between.
pub(in crate::spec) fn quantity<Q: Quantity>(text: &str, span: Span) -> Result<Q, Diagnostic> {
    let text = text.trim();
    let (number, unit) = split_number(text);
    let fault = |code, message: String, label: String| {
        Err(Diagnostic::error(code, span, message).label(label))
    };
    if text
        .strip_prefix('-')
        .is_some_and(|rest| !split_number(rest).0.is_empty())
    {
        let label = format!("{} cannot be negative", Q::NAME);
        return fault("S016", format!("`{}` is below zero", short(text)), label);
    }
    if let Some((first, _)) = text.split_once("..") {
        let message = format!("`{}` is a range", short(text));
        let hint =
            quantity::<Q>(first, span).map(|_| format!("choose one, such as `{}`", first.trim()));
        return fault(
            "S015",
            message,
            format!("expected one value: {}", Q::in_words()),
        )
        .map_err(|fault| fault.maybe_hint(hint.ok()));
    }
    let not_one = |hint: Option<String>| {
        let message = format!("`{}` is not {}", short(text), Q::NAME);
        fault("S015", message, format!("expected {}", Q::in_words()))
            .map_err(|fault| fault.maybe_hint(hint))
    };
    let Some(value) = number.parse::<f64>().ok().filter(|_| !number.is_empty()) else {
        let meant = Q::WORDS
            .iter()
            .find(|(word, _)| word.eq_ignore_ascii_case(text));
        return not_one(meant.map(|(_, meant)| format!("did you mean `{meant}`?")));
    };
    if unit.is_empty() {
        return fault(
            "S014",
            format!("`{}` has no unit", short(number)),
            format!("{} is written with {}", Q::NAME, Q::units()),
        )
        .map_err(|fault| fault.hint(Q::with_unit(value)));
    }
    let Some((_, factor)) = Q::UNITS.iter().find(|(known, _)| *known == unit) else {
        let hint = if unit.starts_with(',') {
            Some("write decimals with a point: `1.5`".to_string())
        } else if let Some(meant) = meant_unit::<Q>(unit) {
            Some(format!("did you mean `{} {meant}`?", short(number)))
        } else if let Some(sum) = summed::<Q>(text) {
            return not_one(Some(format!("it has one number and one unit: `{sum}`")));
        } else if unit.contains(|c: char| c.is_ascii_digit() || c.is_whitespace()) {
            return not_one(Some(format!(
                "it is a plain number and a unit, such as `{}`",
                Q::EXAMPLE
            )));
        } else {
            Q::of_another_kind(value, unit)
        };
        let message = format!("`{}` is not a unit for {}", short(unit), Q::NAME);
        return fault("S014", message, format!("expected {}", Q::units()))
            .map_err(|fault| fault.maybe_hint(hint));
    };
    let base = value * factor;
    if base > Q::MOST * (1.0 + 1e-12) {
        let message = format!("`{}` is more than makes sense", short(text));
        return fault(
            "S016",
            message,
            format!("expected at most {}", Q::MOST_WRITTEN),
        );
    }
    Ok(Q::from_base(base))
}

/// Whether it may be the name of a channel.
fn is_name(text: &str) -> bool {
    let text = text.trim();
    let sound = text.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    sound && text.starts_with(|c: char| c.is_ascii_lowercase()) && !text.starts_with("rand")
}

/// The sum of several numbers, each with its unit: `1 min 30 s`.
fn summed<Q: Quantity>(text: &str) -> Option<Q> {
    let (mut sum, mut rest) = (0.0, text.trim());
    while !rest.is_empty() {
        let (number, after) = split_number(rest);
        let end = after.find(|c: char| c.is_ascii_digit() || c.is_whitespace());
        let (unit, next) = after.split_at(end.unwrap_or(after.len()));
        let (_, factor) = Q::UNITS.iter().find(|(known, _)| *known == unit)?;
        sum += number.parse::<f64>().ok()? * factor;
        rest = next.trim();
    }
    (sum <= Q::MOST).then(|| Q::from_base(sum))
}

/// The digits at the start, and what follows them.
fn split_number(text: &str) -> (&str, &str) {
    let text = text.trim();
    let end = text
        .find(|c: char| !c.is_ascii_digit() && c != '.')
        .unwrap_or(text.len());
    (&text[..end], text[end..].trim())
}

/// What is wrong with a range that is written with something else than `..`; `None`: it is none.
fn not_a_range<Q: Quantity>(text: &str, span: Span) -> Option<Diagnostic> {
    let hint = ["...", "…", " . ", "-", "–", "—", " to "]
        .iter()
        .find_map(|&between| {
            let (low, high) = text.split_once(between)?;
            meant_range::<Q>(low, high)
        })?;
    let message = format!("`{}` is not a range", short(text));
    Some(
        Diagnostic::error("S015", span, message)
            .label("expected `..` between its ends")
            .hint(hint),
    )
}

/// Two quantities, the lower first, among words that mean nothing here: `random 200 ms 900 ms`.
fn two<Q: Quantity>(text: &str) -> Option<[Q; 2]> {
    let from = |text: &str| text.find(|c: char| c.is_ascii_digit());
    let first = &text[from(text)?..];
    let (_, rest) = split_number(first);
    let second = &rest[from(rest)?..];
    let first =
        first[..first.len() - second.len()].trim_end_matches(|c: char| !c.is_alphanumeric());
    let second = second.trim_end_matches(|c: char| !c.is_alphanumeric() && c != '%');
    let read = |text: &str| quantity::<Q>(text, Span::default()).ok();
    let (first, second) = (read(first.trim())?, read(second)?);
    (first < second).then_some([first, second])
}

/// A hint how to write a range whose unit may stand at the upper end only.
fn meant_range<Q: Quantity>(low: &str, high: &str) -> Option<String> {
    let (high_number, unit) = split_number(high);
    let (low_number, low_unit) = split_number(low);
    let low_unit = if low_unit.is_empty() { unit } else { low_unit };
    let end = |number: &str, unit: &str| {
        let text = format!("{number} {unit}");
        quantity::<Q>(&text, Span::default()).ok().map(|_| text)
    };
    let (low, high) = (end(low_number, low_unit)?, end(high_number, unit)?);
    Some(format!("did you mean `{low} .. {high}`?"))
}

fn meant_unit<Q: Quantity>(unit: &str) -> Option<&'static str> {
    let same = |known: &str| known.eq_ignore_ascii_case(unit);
    let mistaken = Q::MISTAKES
        .iter()
        .find(|(mistake, _)| same(mistake))
        .map(|(_, meant)| *meant);
    mistaken.or_else(|| {
        Q::UNITS
            .iter()
            .map(|(known, _)| *known)
            .find(|known| same(known))
    })
}

fn noted<T>(result: Result<T, Diagnostic>, report: &mut Report) -> Option<T> {
    result.map_err(|fault| report.push(fault)).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read<Q: Quantity>(text: &str) -> Result<Q, &'static str> {
        quantity(text, Span::default()).map_err(|fault| fault.code)
    }

    #[test]
    fn a_quantity_is_a_number_and_a_unit() {
        assert_eq!(read("250 ms"), Ok(Time::from_millis(250)));
        assert_eq!(read("1.5min"), Ok(Time::from_millis(90_000)));
        assert_eq!(read("  2   s "), Ok(Time::from_millis(2000)));
        assert_eq!(read("0.1 us"), Ok(Time(100)));
        assert_eq!(read("31.25 kHz"), Ok(Hertz(31250.0)));
        assert_eq!(read("100 %"), Ok(Share(1.0)));
        assert_eq!(read("200 ns"), Ok(Seconds(200.0 * 1e-9)));
    }

    #[test]
    fn anything_else_is_refused_for_its_own_reason() {
        assert_eq!(read::<Time>("250"), Err("S014"));
        assert_eq!(read::<Time>("250 msec"), Err("S014"));
        assert_eq!(read::<Time>("1,5 s"), Err("S014"));
        assert_eq!(read::<Time>("soon"), Err("S015"));
        assert_eq!(read::<Time>(""), Err("S015"));
        assert_eq!(read::<Time>("1.2.3 s"), Err("S015"));
        assert_eq!(read::<Time>("-1 s"), Err("S016"));
        assert_eq!(read::<Time>("1 min 30 s"), Err("S015"));
        assert_eq!(read::<Time>("1 s .. 2 s"), Err("S015"));
        assert_eq!(read::<Time>("169 h"), Err("S016"));
        assert_eq!(read::<Share>("101 %"), Err("S016"));
        assert_eq!(
            read::<Share>(&format!("{} %", "9".repeat(400))),
            Err("S016")
        );
    }
}
