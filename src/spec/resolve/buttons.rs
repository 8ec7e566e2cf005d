//! Further buttons: what a tap on each does, and what that needs.

use super::inputs::{said, tapped};
use crate::diagnostic::{Diagnostic, Report, Span, Spanned, short};
use crate::spec::project::{Brightness, Sets, Tap};
use crate::spec::raw;

/// What is said of something else.
pub(super) fn check_keys(input: &raw::Input, report: &mut Report) {
    for (key, span) in said([("for", input.r#for.map(|at| at.span))]) {
        let message = format!("`{key}` does not fit with `tap`");
        report.push(
            Diagnostic::error("S061", span, message)
                .label("what a tap leads to stays until the next")
                .hint("leave it out"),
        );
    }
}

/// Of all together: there is one for each thing, brighter and darker are a pair, and nothing else sets the brightness.
pub(super) fn check(raw: &raw::Project, report: &mut Report) {
    let all: Vec<(&Spanned<String>, Spanned<Tap>)> = tapped(raw).collect();
    for (at, (_, tap)) in all.iter().enumerate() {
        let mut before = all[..at].iter();
        if let Some((first, _)) = before.find(|(_, other)| other.value == tap.value) {
            report.push(
                Diagnostic::error("S061", tap.span, "two buttons for one thing")
                    .label(format!("`{}` does that already", short(&first.value)))
                    .hint("buttons that do the same can share a pin, side by side"),
            );
        }
    }
    let of = |wanted: Tap| {
        let found = all.iter().find(|(_, tap)| tap.value == wanted);
        found.map(|(_, tap)| tap.span)
    };
    match (of(Tap::Brighter), of(Tap::Darker)) {
        (Some(span), None) => report.push(half(span, "brighter", "darker")),
        (None, Some(span)) => report.push(half(span, "darker", "brighter")),
        _ => {}
    }
    let dims = of(Tap::Brighter).or(of(Tap::Darker));
    check_steps(raw, dims.is_some(), report);
    let knob = raw.inputs.iter().flat_map(|inputs| &inputs.entries);
    let knob = knob.filter_map(|(_, input)| input.as_ref()?.sets.as_ref()?.0);
    let mut knob = knob.filter(|sets| sets.value == Sets::Brightness);
    if let (Some(_), Some(sets)) = (dims, knob.next()) {
        report.push(
            Diagnostic::error(
                "S062",
                sets.span,
                "a knob and buttons both set the brightness",
            )
            .label("which of them would it be?")
            .hint("leave the knob out, or the buttons that are `brighter` and `darker`"),
        );
    }
}

/// The pair is there by half.
fn half(span: Span, there: &str, lacks: &str) -> Diagnostic {
    let message = format!("a button for `{there}` and none for `{lacks}`");
    Diagnostic::error("S061", span, message)
        .label("the way back is missing")
        .hint(format!(
            "add `{lacks}: {{pin: …, tap: {lacks}}}`; a knob needs one pin: `{{pin: …, sets: brightness}}`"
        ))
}

/// There are no more steps than levels, and somebody to take them.
fn check_steps(raw: &raw::Project, dims: bool, report: &mut Report) {
    let Some(brightness) = &raw.brightness else {
        return;
    };
    let keys = [
        ("steps", brightness.steps.map(|at| at.span)),
        ("repeat", brightness.repeat.map(|at| at.span)),
    ];
    for (key, span) in said(keys).filter(|_| !dims) {
        report.push(
            Diagnostic::error("S062", span, format!("`{key}` without buttons"))
                .label("nothing here is brighter or darker by steps")
                .hint("under `inputs`: `{pin: PB3, tap: brighter}` and `{pin: PB4, tap: darker}`"),
        );
    }
}

/// The least step is a lit level, where `levels` are between dark and full.
pub(super) fn check_least(
    raw: &raw::Project,
    steps: Spanned<u8>,
    levels: Spanned<u16>,
    report: &mut Report,
) {
    let (_, most) = Brightness::taken(steps.value.clamp(3, 32));
    let least = 256 - u32::from(most);
    let lit = least * u32::from(levels.value.saturating_sub(1)) >= 256;
    if lit || !tapped(raw).any(|(_, tap)| tap.value == Tap::Darker) {
        return;
    }
    let message = format!(
        "{} steps of brightness, and {} levels",
        steps.value, levels.value
    );
    report.push(
        Diagnostic::error("S062", levels.span, message)
            .label("the least step would be dark")
            .hint(format!(
                "with `levels: {}` or more it is lit; or take fewer `steps`",
                1 + 256_u32.div_ceil(least)
            )),
    );
}
