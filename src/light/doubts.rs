//! Levels that the chip cannot make as they are wanted: lit ones that come out dark, and ones that
//! come out alike.

use crate::diagnostic::Diagnostic;
use crate::player::Deck;
use crate::spec::Brightness;
use crate::units::{Duty, Level, Share};

use super::{Depth, Scale};

/// What a person should know of the levels of a project, whose channels have these names.
pub fn cautions(brightness: &Brightness, names: &[&str], deck: &Deck) -> Vec<Diagnostic> {
    let scale = Scale::new(brightness);
    let lit = || scale.levels().skip(1);
    let dark = |channel: usize| {
        lit()
            .filter(|level| deck.duty(channel, *level) == Duty(0))
            .count()
    };
    let worst = (0..deck.trims.len()).max_by_key(|channel| (dark(*channel), usize::MAX - channel));
    if let Some((channel, count)) = worst.map(|channel| (channel, dark(channel)))
        && count > 0
    {
        return vec![dark_levels(
            brightness,
            &scale,
            deck,
            (channel, names[channel]),
            count,
        )];
    }
    let distinct = deck.light.figures.distinct;
    if distinct == scale.count() {
        return Vec::new();
    }
    let all = scale.count();
    let few = (2..=distinct)
        .rev()
        .find(|count| tells_apart(brightness, *count as u16, deck.light.depth));
    let message = format!("of {all} levels, {distinct} can be told apart");
    let caution = Diagnostic::caution("C042", brightness.levels.span, message)
        .label(format!(
            "{} bits of PWM are too coarse for the others",
            deck.light.depth.bits()
        ))
        .maybe_hint(few.map(|few| format!("`levels: {few}` are all distinct")));
    vec![caution]
}

fn dark_levels(
    brightness: &Brightness,
    scale: &Scale,
    deck: &Deck,
    (channel, name): (usize, &str),
    count: usize,
) -> Diagnostic {
    let first = scale
        .levels()
        .find(|level| deck.duty(channel, *level) > Duty(0));
    let label = match first {
        Some(level) => {
            let share = (scale.share(level).0 * 1e3).ceil() / 1e3;
            format!("`{name}` is dark below {} in a pattern", Share(share))
        }
        None => format!("`{name}` is always dark"),
    };
    let floor = (1..1000)
        .map(|thousandth| Share(f64::from(thousandth) / 1e3))
        .find(|share| {
            let duty = deck
                .light
                .depth
                .quantise(brightness.curve.value.luminance(*share));
            deck.light.depth.cut(deck.trims[channel].apply(duty.0)) > Duty(0)
        });
    let message = format!("{count} of {} lit levels are dark", scale.count() - 1);
    Diagnostic::caution("C042", brightness.floor.span, message)
        .label(label)
        .maybe_hint(floor.map(|floor| {
            format!("`floor: {floor}` is the least that gives light; so does a lower `pwm: {{slowest: …}}`")
        }))
}

/// Whether so many levels are all different at a depth, as exact as it can be.
fn tells_apart(brightness: &Brightness, count: u16, depth: Depth) -> bool {
    let fewer = Brightness {
        levels: brightness.levels.map(|_| count),
        ..brightness.clone()
    };
    let scale = Scale::new(&fewer);
    let duty = |level: Level| depth.quantise(scale.luminance(level));
    let mut levels = scale.levels().map(duty);
    let first = levels.next();
    levels
        .try_fold(first, |below, duty| {
            (Some(duty) > below).then_some(Some(duty))
        })
        .is_some()
}
