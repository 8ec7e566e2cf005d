//! Shows, the patterns they choose, and whether everything can be reached.

use super::inputs;
use super::patterns::{PATTERNS, Resolver};
use super::settings::within;
use crate::diagnostic::{Diagnostic, Span, Spanned, short};
use crate::spec::project::{Drawn, Pattern, PatternId, Show, Tap};
use crate::spec::raw;
use crate::spec::read::{MaybeEmpty, OneOrMany};
use crate::units::Time;

/// The most shows.
const SHOWS: usize = 8;
/// How long `roam` stays with a pattern unless told.
const DWELL: Drawn<Time> = Drawn::Between(Time::from_millis(20_000), Time::from_millis(60_000));

/// A show whose patterns are still indices of what was written.
struct Draft {
    span: Span,
    kind: Kind,
    patterns: Vec<usize>,
    /// All that it names is known.
    whole: bool,
}

enum Kind {
    Roam(Drawn<Time>),
    Steady(u8),
    Solo,
}

/// What a project plays.
pub(super) struct Shown {
    /// The project's own as written, then those of its libraries as named.
    pub patterns: Vec<Pattern>,
    pub shows: Vec<Spanned<Show>>,
    /// What is played once, in the order of [`inputs::played`]; `None`: there is none of that name.
    pub once: Vec<Option<PatternId>>,
}

/// The shows, and the patterns that they and inputs play.
pub(super) fn resolve(raw: &raw::Project, resolver: &mut Resolver) -> Shown {
    let own: Vec<Pattern> = (0..resolver.written.own)
        .map(|index| resolver.pattern(index))
        .collect();
    let named = inputs::played(raw).map(|name| resolver.written.find(name, resolver.report));
    let once: Vec<Option<usize>> = named.collect();
    let drafts = drafts(raw, &once, resolver);
    if drafts.iter().all(|draft| draft.whole) {
        let leads = Leads {
            button: raw.button.is_some(),
            taps: goes_by_tap(raw),
            switch: inputs::selects(raw),
        };
        check_reach(&drafts, &once, leads, resolver);
    }

    let mut shown: Vec<usize> = (0..own.len())
        .filter(|index| is_shown(*index, &drafts) || once.contains(&Some(*index)))
        .collect();
    let named = drafts.iter().flat_map(|draft| &draft.patterns);
    for &index in named.chain(once.iter().flatten()) {
        if !shown.contains(&index) {
            shown.push(index);
        }
    }
    if let Some(&surplus) = shown.get(PATTERNS) {
        let span = resolver.written.patterns[surplus].name.span;
        resolver.report.push(
            Diagnostic::error("S044", span, format!("more than {PATTERNS} patterns"))
                .label("one pattern too many")
                .hint("let some of them play as branches of one pattern"),
        );
        shown.truncate(PATTERNS);
    }
    let mut own = own.into_iter().map(Some).collect::<Vec<_>>();
    let patterns = shown
        .iter()
        .map(|&index| match own.get_mut(index).and_then(Option::take) {
            Some(pattern) => pattern,
            None => resolver.pattern(index),
        })
        .collect();
    let place = |index: usize| shown.iter().position(|other| *other == index);
    let id = |index: Option<usize>| Some(PatternId(place(index?)? as u8));
    Shown {
        patterns,
        shows: drafts.iter().map(|draft| draft.show(&shown)).collect(),
        once: once.into_iter().map(id).collect(),
    }
}

impl Draft {
    fn show(&self, shown: &[usize]) -> Spanned<Show> {
        let patterns = self
            .patterns
            .iter()
            .filter_map(|index| shown.iter().position(|other| other == index))
            .map(|place| PatternId(place as u8))
            .collect();
        let show = match self.kind {
            Kind::Roam(Drawn::Fixed(dwell)) => Show::Roam {
                dwell: (dwell, dwell),
                patterns,
            },
            Kind::Roam(Drawn::Between(low, high)) => Show::Roam {
                dwell: (low, high),
                patterns,
            },
            Kind::Steady(levels) => Show::Steady { levels },
            Kind::Solo => Show::Solo { patterns },
        };
        Spanned::new(show, self.span)
    }
}

fn is_shown(index: usize, drafts: &[Draft]) -> bool {
    drafts.iter().any(|draft| draft.patterns.contains(&index))
}

fn drafts(raw: &raw::Project, once: &[Option<usize>], resolver: &mut Resolver) -> Vec<Draft> {
    if let Some(drafts) = selected(raw, resolver) {
        return drafts;
    }
    let Some(shows) = &raw.shows else {
        return vec![default_show(raw, once, resolver)];
    };
    let count = shows.value.len();
    if count == 0 || count > SHOWS {
        let span = shows.value.get(SHOWS).map_or(shows.span, |show| show.span);
        resolver.report.push(
            Diagnostic::error("S044", span, format!("a list of {count} shows"))
                .label(format!("expected 1 to {SHOWS} shows"))
                .hint("leave `shows` out for the default"),
        );
    }
    if count == 0 {
        return vec![default_show(raw, once, resolver)];
    }
    shows
        .value
        .iter()
        .map(|show| draft(show, raw, once, resolver))
        .collect()
}

/// A show for each of the two patterns that a switch chooses between; `None`: there is no such switch, or the
/// shows are written.
fn selected(raw: &raw::Project, resolver: &mut Resolver) -> Option<Vec<Draft>> {
    let (names, span) = inputs::selected(raw).filter(|_| raw.shows.is_none())?;
    let draft = |name: &Spanned<String>| {
        let found = resolver.written.find(name, resolver.report);
        Draft {
            span,
            kind: Kind::Solo,
            patterns: found.into_iter().collect(),
            whole: found.is_some(),
        }
    };
    Some(names.iter().map(draft).collect())
}

/// A single pattern, or a button to go through several, suits `solo`; else the light roams.
fn default_show(raw: &raw::Project, once: &[Option<usize>], resolver: &mut Resolver) -> Draft {
    let (patterns, whole) = chosen(None, raw.span, (raw, once), resolver);
    let by_hand = raw.button.is_some() || goes_by_tap(raw).is_some();
    let solo = by_hand || patterns.len() < 2;
    let kind = if solo { Kind::Solo } else { Kind::Roam(DWELL) };
    Draft {
        span: raw.span,
        kind,
        patterns,
        whole,
    }
}

fn draft(
    show: &Spanned<raw::Show>,
    raw: &raw::Project,
    once: &[Option<usize>],
    resolver: &mut Resolver,
) -> Draft {
    let span = show.span;
    let source = (raw, once);
    match &show.value {
        raw::Show::Broken => Draft {
            span,
            kind: Kind::Solo,
            patterns: Vec::new(),
            whole: false,
        },
        raw::Show::Roam(MaybeEmpty(roam)) => {
            let (patterns, whole) = chosen(roam.patterns.as_ref(), span, source, resolver);
            if whole && patterns.len() == 1 {
                resolver.report.push(
                    Diagnostic::error("S045", span, "roam with a single pattern")
                        .label("expected at least two patterns to draw from")
                        .hint("use `solo` to stay with one pattern"),
                );
            }
            if let Some(dwell) = &roam.dwell {
                let (Drawn::Fixed(low) | Drawn::Between(low, _)) = dwell.value;
                let shortest = Time::from_millis(100);
                let longest = Time(24 * 3600 * 1_000_000_000);
                within(
                    &Spanned::new(low, dwell.span),
                    shortest,
                    longest,
                    resolver.report,
                );
            }
            let dwell = roam.dwell.map_or(DWELL, |dwell| dwell.value);
            Draft {
                span,
                kind: Kind::Roam(dwell),
                patterns,
                whole,
            }
        }
        raw::Show::Steady(MaybeEmpty(steady)) => {
            let levels = steady.levels.unwrap_or(Spanned::new(6, span));
            within(&levels, 1, 32, resolver.report);
            let kind = Kind::Steady(levels.value as u8);
            Draft {
                span,
                kind,
                patterns: Vec::new(),
                whole: true,
            }
        }
        raw::Show::Solo(MaybeEmpty(solo)) => {
            let (patterns, whole) = chosen(solo.patterns.as_ref(), span, source, resolver);
            Draft {
                span,
                kind: Kind::Solo,
                patterns,
                whole,
            }
        }
    }
}

/// The patterns that are named, or all of the project's own but for those that are only played `once`, unless
/// there are no others; and whether all names are known.
fn chosen(
    names: Option<&Spanned<OneOrMany<Spanned<String>>>>,
    show: Span,
    (raw, once): (&raw::Project, &[Option<usize>]),
    resolver: &mut Resolver,
) -> (Vec<usize>, bool) {
    let Some(names) = names else {
        let unread = raw
            .patterns
            .as_ref()
            .is_some_and(|patterns| patterns.0.is_none());
        // Where something is wrong already, it may be what hides them.
        let hidden = raw.patterns.is_none() && resolver.report.has_errors();
        if resolver.written.own == 0 && !unread && !hidden {
            resolver.report.push(
                Diagnostic::error("S012", show, "there is no pattern to show")
                    .label("needs at least one pattern")
                    .hint("add it under `patterns:`, or name one of a library in a show"),
            );
        }
        let own = 0..resolver.written.own;
        let others: Vec<usize> = own
            .clone()
            .filter(|own| !once.contains(&Some(*own)))
            .collect();
        return match others.is_empty() {
            true => (own.collect(), !unread),
            false => (others, !unread),
        };
    };
    if names.value.0.is_empty() {
        resolver.report.push(
            Diagnostic::error("S034", names.span, "a show of no patterns")
                .label("expected at least one pattern")
                .hint("leave `patterns` out to show them all"),
        );
    }
    let (mut chosen, mut whole) = (Vec::new(), true);
    for name in &names.value.0 {
        match resolver.written.find(name, resolver.report) {
            Some(index) if chosen.contains(&index) => resolver.report.push(
                Diagnostic::error("S034", name.span, format!("`{}` twice", short(&name.value)))
                    .label("it is in this show already")
                    .hint("remove one of the two"),
            ),
            Some(index) => chosen.push(index),
            None => whole = false,
        }
    }
    (chosen, whole)
}

/// A further button that goes from pattern to pattern.
fn goes_by_tap(raw: &raw::Project) -> Option<Span> {
    let mut taps = inputs::tapped(raw).map(|(_, tap)| tap);
    let goes = taps.find(|tap| matches!(tap.value, Tap::Next | Tap::Previous));
    goes.map(|tap| tap.span)
}

/// What leads to shows and patterns.
#[derive(Clone, Copy)]
struct Leads {
    button: bool,
    /// From pattern to pattern of a show, by a further button.
    taps: Option<Span>,
    /// To the second show.
    switch: bool,
}

/// Complains of shows and patterns that nothing leads to.
fn check_reach(drafts: &[Draft], once: &[Option<usize>], leads: Leads, resolver: &mut Resolver) {
    let has_button = leads.button;
    let several = |draft: &Draft| match draft.kind {
        Kind::Steady(levels) => levels > 1,
        Kind::Roam(_) | Kind::Solo => draft.patterns.len() > 1,
    };
    if let Some(span) = leads.taps.filter(|_| !drafts.iter().any(several)) {
        resolver.report.push(
            Diagnostic::error("S061", span, "a button with nothing to go to")
                .label("no show has more than one pattern or level")
                .hint("add a pattern, or leave the button out"),
        );
    }
    let (third, by_hold) = (drafts.get(2), has_button && !leads.switch);
    let lost = if leads.switch { third } else { drafts.get(1) };
    if let (false, Some(second)) = (by_hold, lost) {
        resolver.report.push(
            Diagnostic::error("S039", second.span, "a show that nothing leads to")
                .label(match leads.switch {
                    true => "a switch leads to two shows, and a hold does nothing",
                    false => "without a button the first show plays for ever",
                })
                .hint(match leads.switch {
                    true => "leave it out",
                    false => "add `button: {pin: …}`; a hold goes to the next show",
                }),
        );
    }
    let mut reached: Vec<usize> = once.iter().flatten().copied().collect();
    for draft in drafts {
        let stuck = matches!(draft.kind, Kind::Solo) && !has_button && leads.taps.is_none();
        reached.extend(
            draft
                .patterns
                .iter()
                .take(if stuck { 1 } else { usize::MAX }),
        );
    }
    let mut next = 0;
    while let Some(&index) = reached.get(next) {
        for played in resolver.written.played_by(index) {
            if !reached.contains(&played) {
                reached.push(played);
            }
        }
        next += 1;
    }
    for index in 0..resolver.written.own {
        if !reached.contains(&index) {
            let name = resolver.written.patterns[index].name;
            let message = format!("pattern `{}` is never shown", short(&name.value));
            resolver.report.push(if is_shown(index, drafts) {
                Diagnostic::error("S039", name.span, message)
                    .label("without a button, solo stays with its first pattern")
                    .hint("add `button`, or use `roam`")
            } else {
                Diagnostic::caution("S048", name.span, message)
                    .label("no show names it and no pattern plays it")
                    .hint("it takes no room in the chip; add it to a show when you want to see it")
            });
        }
    }
}
