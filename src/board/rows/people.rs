//! What the light may do to people: flicker and flashes.

use std::collections::BTreeSet;

use super::{blamed, named, row};
use crate::board::flash::SAFE;
use crate::board::flicker::{Risk, low_risk_limit};
use crate::board::wobble::SEEN;
use crate::board::{Board, ChangeReport};
use crate::design::Design;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::{Hertz, Share};

/// WCAG 2, success criterion 2.3.1.
const MOST_FLASHES: Limit = Limit::AtMost(Quantity::Flashes(SAFE as u32));

/// The strongest component against its own limit, or all that there is when nothing is modulated.
pub(super) fn modulation(board: &Board, design: &Design) -> Row {
    let flicker = &board.flicker;
    let of_levels = flicker.worst.map(|worst| {
        let channel = &design.project.channels[worst.channel].name.value;
        let what = format!("`{channel}` at level {}", worst.level.0);
        let remedy = "a faster clock brings a faster PWM";
        (worst.component, what, remedy)
    });
    let of_ripple = flicker.ripple.map(|ripple| {
        let what = "the pump's ripple, all strings lit".to_string();
        (ripple, what, "a larger reservoir or a faster clock helps")
    });
    let all = of_levels.into_iter().chain(of_ripple);
    let worst = all.max_by(|(a, ..), (b, ..)| a.by_harm(b));
    let name = ("modulation", "flicker (IEEE Std 1789-2015)");
    let Some((component, what, otherwise)) = worst else {
        let none = Quantity::Share(Share(0.0));
        return row(
            name,
            none,
            Limit::None,
            Source::Computed,
            "nothing is modulated",
        );
    };
    let limit = most_modulation(component.frequency);
    let remedy = match (flicker.risk, flicker.remedy) {
        (Risk::High, Some(slowest)) => {
            format!("; `pwm: {{slowest: {slowest}}}` brings all levels to low risk")
        }
        (Risk::High, None) => format!("; {otherwise}"),
        (Risk::NoEffect | Risk::Low, _) => String::new(),
    };
    let note = format!(
        "{}: {what}, at {} with the clock at its slowest{remedy}",
        flicker.risk.text(),
        component.frequency
    );
    let row = row(
        name,
        Quantity::Share(component.modulation),
        limit,
        Source::Computed,
        note,
    );
    blamed(
        row,
        "E040",
        design.project.pwm.slowest.span,
        "less depth in time, or a faster PWM, flickers less",
    )
}

/// Nothing is modulated by more than all of it, so that such a limit is none to fear.
fn most_modulation(frequency: Hertz) -> Limit {
    match low_risk_limit(frequency) {
        limit if limit.0 >= 1.0 => Limit::None,
        limit => Limit::AtMost(Quantity::Share(limit)),
    }
}

/// The worst flicker that a pattern makes by itself. `None`: none moves to and fro so fast.
pub(super) fn wobble(board: &Board, design: &Design) -> Option<Row> {
    let all = board
        .scenes
        .iter()
        .filter_map(|scene| Some((scene, scene.wobble?)));
    // The first of equals.
    let (scene, wobble) = all.reduce(|worst, one| {
        if one.1.component.by_harm(&worst.1.component).is_gt() {
            one
        } else {
            worst
        }
    })?;
    let frequency = wobble.component.frequency;
    let remedy = match wobble.risk {
        Risk::High => format!(
            "; swing less, or slower than {SEEN}, where it is seen to move and the rule of flashes \
             holds"
        ),
        Risk::NoEffect | Risk::Low => String::new(),
    };
    let note = format!(
        "{}: `{}` moves `{}` to and fro at {frequency} from {} on, with the clock at its \
         slowest{remedy}",
        wobble.risk.text(),
        scene.name,
        design.project.channels[wobble.channel].name.value,
        wobble.at
    );
    let row = row(
        ("pattern-flicker", "flicker in a pattern (IEEE 1789)"),
        Quantity::Share(wobble.component.modulation),
        most_modulation(frequency),
        Source::Computed,
        note,
    );
    Some(blamed(
        row,
        "E043",
        named(&scene.name, design),
        "flicker that is not seen as movement can still tire, and give headaches",
    ))
}

impl Risk {
    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Self::NoEffect => "no observable effect",
            Self::Low => "low risk",
            Self::High => "beyond the limits",
        }
    }
}

pub(super) fn flashes(board: &Board, design: &Design) -> Row {
    let worst = board.busiest();
    let flashes = &worst.flashes;
    let mut note = format!(
        "`{}` at {}: {}{}",
        worst.name,
        flashes.worst.at,
        flashes.of,
        hurried(board)
    );
    if !flashes.likewise.is_empty() {
        note += &format!("; likewise {}", flashes.likewise.join(", "));
    }
    if worst.random {
        note += &format!(
            ", in {} of {} minutes played at random (at most {} of all, with 95 % confidence)",
            flashes.failing, flashes.takes, flashes.at_most
        );
    }
    if let Some(remedy) = flashes.remedy {
        note += &format!(
            "; passes {:.2} times as slow, or with {:.1} % of the light",
            (remedy.slower * 100.0).ceil() / 100.0,
            remedy.dimmer * 100.0
        );
    }
    let also: Vec<String> = board
        .scenes
        .iter()
        .filter(|scene| scene.flashes.failing > 0 && scene.name != worst.name)
        .map(|scene| match scene.accepted {
            true => format!("`{}` (accepted)", scene.name),
            false => format!("`{}`", scene.name),
        })
        .collect::<BTreeSet<_>>()
        .into_iter()
        .collect();
    if !also.is_empty() {
        note += &format!("; more than 3 also in {}", also.join(", "));
    }
    let (figure, source) = (count(flashes.worst.flashes), Source::Computed);
    let name = ("flashes", "flashes in a pattern (WCAG 2)");
    if flashes.worst.flashes == 0 {
        return row(name, figure, MOST_FLASHES, source, "no pattern flashes");
    }
    blamed(
        row(name, figure, MOST_FLASHES, source, note),
        "E041",
        named(&worst.name, design),
        match worst.accepted {
            false => {
                "slow it down or dim it: such flashes can set off seizures; `flashing: accepted` in \
                 the pattern builds it all the same"
            }
            true => "as accepted; show it only to people who know and agree",
        },
    )
}

/// Flashes are counted with the clock at its fastest.
fn hurried(board: &Board) -> &'static str {
    if board.clock.accuracy.0 > 0.0 {
        ", counted with the clock at its fastest"
    } else {
        ""
    }
}

pub(super) fn at_changes(board: &Board, changes: &ChangeReport, design: &Design) -> Row {
    let remedy = changes.remedy.map_or(String::new(), |fade| {
        format!("; `change_fade: {fade}` keeps them apart")
    });
    let note = format!(
        "from `{}`, left at {}, to `{}`{}; more than 3 in {} of {} changes tried{remedy}",
        changes.from,
        changes.left_at,
        changes.to,
        hurried(board),
        changes.failing,
        changes.tried
    );
    let row = row(
        ("flashes-at-changes", "flashes over a change of pattern"),
        count(changes.worst.flashes),
        MOST_FLASHES,
        Source::Computed,
        note,
    );
    blamed(
        row,
        "E042",
        design.project.change_fade.span,
        "a longer `change_fade` keeps what flashes in the one apart from the other",
    )
}

fn count(flashes: usize) -> Quantity {
    Quantity::Flashes(u32::try_from(flashes).expect("flashes in a second are few"))
}
