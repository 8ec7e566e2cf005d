//! Time: the interrupt, a tick at its longest, the start of a scene, and how exact a tick is.

use std::cmp::Reverse;
use std::iter;

use super::flash::{Flash, text};
use super::tick;
use super::work::{self, Demand, Load, Start};
use crate::assembly::Listing;
use crate::design::Design;
use crate::diagnostic::{Diagnostic, Span};
use crate::drive::{Cost, WAKING};
use crate::emit::SourceFile;
use crate::firmware::computes_parts;
use crate::plan::Plan;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::{Cycles, Share, Time};

/// Beyond this share of what there is, it is worth a word (common practice, no source).
const CAREFUL: f64 = 0.5;

/// A pause in the light that a person can see (common practice, no source).
const PAUSE: Time = Time::from_millis(100);

/// A start must end before the watchdog bites, or without one before a person gives up.
const PATIENCE: Time = Time::from_millis(1000);

/// How far a tick may be from what was meant, in parts per million (common practice, no source).
const TICK_ERROR: f64 = 1000.0;

/// The loop around a tick while a channel is run ahead: `sbiw`, `brcs`, `rcall`, `rjmp`.
const TO_NEXT_TICK: u64 = 2 + 1 + 3 + 2;

/// To pass a whole line: comparing what is left with its length, and being at its goal.
const TO_NEXT_LINE: u64 = 24;

/// For each level that a line spans, its part is subtracted once: `sub`, twice `sbc`, `dec`, `brne`. It
/// spans, and then moves, at most so many.
const OF_DISTANCE: u64 = 1 + 2 + 1 + 2;
const MOST_LEVELS: u64 = 255;

/// What a start does for each channel besides its first operation, and to find its scene.
const START_OF_CHANNEL: u64 = 80;
const TO_NEXT_SCENE: u64 = 7;

/// The rows that concern time.
pub(super) fn rows(design: &Design, sources: &[SourceFile], flash: &Flash) -> Vec<Row> {
    let plan = &design.plan;
    let cost = plan.drive.cost();
    let share = cost.share(plan.drive.pwm().cycles());
    let player = Listing::read(text(sources, "player.S"));
    let demands = work::demands(&design.deck.image.score);
    let load = Load::of(&plan.drive, &demands);
    let work = tick::work(&player, load, flash.main);
    debug_assert!(work <= tick::at_most(design), "{work} of {load:?}");
    let left = tick::left(plan);

    let [interrupt, interrupt_share] = interrupt(design, cost);
    let mut rows = vec![
        interrupt,
        interrupt_share,
        Row::judged(
            ("tick", "work of a tick, at its worst"),
            Quantity::Cycles(work),
            Limit::AtMost(Quantity::Cycles(left)),
            CAREFUL,
            Source::Estimated,
            format!(
                "{}, each at the end of a step, and {} at once; the limit is what the interrupt \
                 leaves of {}",
                counted(plan.drive.channels().len(), "channel"),
                counted(load.levels as usize, "level"),
                Time((plan.tick.seconds() * 1e9).round() as u64)
            ),
        )
        .with_fault(|row| {
            let (figure, against) = (row.figure, row.against());
            let message = format!("a tick can take {figure}, {against} there are for it");
            Diagnostic::error("B004", of_tick(design), message)
                .label(row.note.clone())
                .hint("a longer tick, a faster clock or fewer channels help")
        }),
    ];
    rows.extend(start(design, &player, &demands, share));
    rows.push(tick_error(design));
    rows
}

/// So many of a thing, in words.
fn counted(count: usize, thing: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{count} {thing}{plural}")
}

/// The rows of an interrupt that takes so much, whatever language it is written in.
pub(super) fn interrupt(design: &Design, cost: Cost) -> [Row; 2] {
    let plan = &design.plan;
    let period = plan.drive.pwm().cycles();
    let awake = cost.longest;
    // One that shows planes waits, as they are timed to the cycle.
    let careful = if plan.drive.planes().is_some() {
        1.0
    } else {
        CAREFUL
    };
    let cycles = Cycles(awake.0 + WAKING.0);
    let share = f64::from(cost.with_waking().0) / f64::from(period.0);
    [
        Row::judged(
            ("interrupt", "PWM interrupt"),
            Quantity::Cycles(cycles),
            Limit::AtMost(Quantity::Cycles(period)),
            careful,
            Source::Computed,
            format!(
                "from sleep to return, at {}; {awake} where the processor is awake",
                plan.drive.pwm().frequency
            ),
        )
        .with_fault(|row| {
            let (figure, against) = (row.figure, row.against());
            let message =
                format!("the PWM interrupt takes {figure}, {against} between two of them");
            Diagnostic::error("B003", design.project.chip.span, message)
                .label(row.note.clone())
                .hint("fewer channels or a slower PWM leave it more time")
        }),
        Row::judged(
            ("interrupt-share", "its share of the processor"),
            Quantity::Share(Share(share)),
            Limit::AtMost(Quantity::Share(Share(1.0))),
            CAREFUL,
            Source::Computed,
            String::new(),
        ),
    ]
}

/// Where the tick is given, or else the chip.
fn of_tick(design: &Design) -> Span {
    let project = &design.project;
    project.tick.map_or(project.chip.span, |tick| tick.span)
}

/// How exact a tick is.
pub(super) fn tick_error(design: &Design) -> Row {
    let plan = &design.plan;
    Row::judged(
        ("tick-error", "tick against what was meant"),
        Quantity::Millionths(plan.tick.error_ppm.abs()),
        Limit::AtMost(Quantity::Millionths(TICK_ERROR)),
        CAREFUL,
        Source::Computed,
        format!("the clock itself: \u{b1}{}", plan.clock.accuracy),
    )
    .with_fault(|row| {
        let (figure, against) = (row.figure, row.against());
        let message = format!("ticks are off by {figure}, {against} that go unnoticed");
        Diagnostic::error("B007", of_tick(design), message).hint("another `tick` may be nearer")
    })
}

/// Channels that start further on are run ahead, line by line, reading what they come past.
fn start(
    design: &Design,
    player: &Listing,
    demands: &[Demand],
    share: f64,
) -> impl Iterator<Item = Row> {
    let plan = &design.plan;
    let channels = plan.drive.channels().len() as u64;
    let starts = &design.deck.image.starts;
    let scenes = starts.len() as u64;
    let pace = Pace::of(player, computes_parts(plan, &design.deck.image));
    let ahead = work::starts(&design.deck.image, demands)
        .into_iter()
        .map(|start| (pace.cycles(&start), start.ahead))
        .zip(0..)
        .max_by_key(|((cycles, _), scene)| (*cycles, Reverse(*scene)));
    let ((ahead, ticks), scene) = ahead.unwrap_or_default();
    let cycles = ahead + channels * START_OF_CHANNEL + scenes * TO_NEXT_SCENE;
    let seconds = cycles as f64 / (plan.clock.frequency.0 * (1.0 - share).max(0.01));
    let limit = plan
        .watchdog
        .as_ref()
        .map_or(PATIENCE, |watchdog| watchdog.time);
    let note = if ticks > 0 {
        let name = &design.deck.image.score.scenes[scene].name;
        format!("`{name}` runs its channels ahead by {ticks} ticks in all")
    } else {
        String::new()
    };
    let start = Row::judged(
        ("start", "start of a pattern, at its longest"),
        Quantity::Time(Time((seconds * 1e6).ceil() as u64 * 1000)),
        Limit::AtMost(Quantity::Time(limit)),
        PAUSE.seconds() / limit.seconds(),
        Source::Estimated,
        note,
    )
    .with_fault(|row| {
        let figure = row.figure;
        let message = if row.beyond() {
            let room = row.limit.figure();
            format!(
                "starting a pattern can take {figure}, so long that the watchdog ({room}) restarts \
                 the chip"
            )
        } else {
            format!("starting a pattern can take {figure}, and the light stands still meanwhile")
        };
        Diagnostic::error("B005", design.project.chip.span, message)
            .label(row.note.clone())
            .hint(
                "fewer steps in a round shorten it: a channel that is a little behind starts nearly \
                 a round ahead",
            )
    });
    iter::once(start).chain(late(plan, seconds))
}

/// How late a pattern is after so long a start. The firmware makes up for what its count of overflows
/// spans. To rush through more than that would hide the pattern's first moments; it begins late
/// instead, and whole.
fn late(plan: &Plan, start: f64) -> Option<Row> {
    let span = plan.counted().0;
    let lost = (start / span).floor() * span;
    (lost > 0.0).then(|| {
        Row::judged(
            ("late", "how late a pattern may then begin"),
            Quantity::Time(Time((lost * 1e3).round() as u64 * 1_000_000)),
            Limit::None,
            1.0,
            Source::Estimated,
            "the start, less what is made up for by ticks that follow each other at once",
        )
    })
}

/// What the parts of the player take that run a channel ahead.
struct Pace {
    /// A tick in which one level is moved; each level more.
    tick: u64,
    level: u64,
    /// Reading on to the next operation, where that takes time; each that takes none before it.
    read: u64,
    operation: u64,
    /// The part of a line is computed.
    computed: bool,
}

impl Pace {
    fn of(player: &Listing, computed: bool) -> Self {
        let load = |count| Load {
            drive: None,
            channels: 1,
            levels: count,
            operations: count,
        };
        let tick = |levels| {
            let rounds = |label: &str| load(levels).rounds(label);
            u64::from(player.longest_before("step", "fetch", &rounds).0)
        };
        let read = |operations| {
            let rounds = |label: &str| load(operations).rounds(label);
            u64::from(player.longest("fetch", &rounds).0)
        };
        Self {
            tick: tick(1),
            level: tick(2) - tick(1),
            read: read(1),
            operation: read(2) - read(1),
            computed,
        }
    }

    fn cycles(&self, start: &Start) -> u64 {
        let by_tick =
            start.ticks * (self.tick + TO_NEXT_TICK) + (start.levels - start.ticks) * self.level;
        let at_once = start.channels * (self.tick + MOST_LEVELS * (OF_DISTANCE + self.level));
        let parts = if self.computed {
            by_tick.min(at_once)
        } else {
            by_tick
        };
        parts
            + start.reads * (self.read + TO_NEXT_LINE)
            + (start.operations - start.reads) * self.operation
    }
}
