//! Where text goes: reports to the standard output, complaints to the standard error.

use std::io::{self, ErrorKind, IsTerminal, Write};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use clap::ValueEnum;
use duskloom::design::Design;
use duskloom::diagnostic::{self, Diagnostic, Report};
use duskloom::escape;
use indicatif::{ProgressBar, ProgressStyle};
use serde::Serialize;
use terminal_size::{Width, terminal_size_of};

use super::failure::Failure;

/// Whether anything went to the standard output.
static SPOKEN: AtomicBool = AtomicBool::new(false);

/// Columns of text where there is no terminal to ask.
const USUAL_WIDTH: usize = 100;

/// Prints a report.
///
/// # Errors
/// As [`hand_out`].
pub(super) fn print(text: &str) -> Result<(), Failure> {
    hand_out(&escape::shown(text))
}

/// Prints a file that was asked for on the standard output, as it is.
///
/// # Errors
/// [`Failure::Unread`] when the reader has gone away; another when the text cannot be written.
pub(super) fn hand_out(text: &str) -> Result<(), Failure> {
    SPOKEN.store(true, Ordering::Relaxed);
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(error) if error.kind() == ErrorKind::BrokenPipe => Err(Failure::Unread),
        Err(error) => Err(Failure::world(format!("cannot write the report: {error}"))),
    }
}

/// Whom a report is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(crate) enum Format {
    Text,
    Json,
}

/// Whom a report is for that is a table, too.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Form {
    Text,
    Json,
    Csv,
}

impl Form {
    /// Whom failures are for: no table has room for them.
    pub(super) fn reader(self) -> Format {
        match self {
            Self::Json => Format::Json,
            Self::Text | Self::Csv => Format::Text,
        }
    }
}

/// Whether a report is out already: a script reads one.
pub(super) fn has_spoken() -> bool {
    SPOKEN.load(Ordering::Relaxed)
}

/// Data for a script.
///
/// # Errors
/// None that is known of: reports are plain data.
pub(super) fn json(data: &impl Serialize) -> Result<String, Failure> {
    serde_json::to_string_pretty(data)
        .map(|json| escape::json(&json).into_owned() + "\n")
        .map_err(|error| Failure::world(error.to_string()))
}

/// Prints a complaint, with its colours where the person's terminal and `NO_COLOR` allow them.
pub(super) fn complain(text: &str) {
    // There is nobody left to tell when this fails.
    let _ = anstream::stderr().lock().write_all(text.as_bytes());
}

/// Says on a terminal's standard error that something takes long, and how long it has taken: hours of a
/// light are played tick by tick. Not seen where it takes no time.
pub(super) fn busy(what: &'static str) -> ProgressBar {
    let bar = ProgressBar::new_spinner().with_message(what);
    let style = ProgressStyle::with_template("{spinner} {msg}, {elapsed}");
    bar.set_style(style.expect("a template without a mistake"));
    bar.enable_steady_tick(Duration::from_millis(250));
    bar
}

/// How many columns a report may take.
pub(super) fn width() -> usize {
    let out = io::stdout();
    if !out.is_terminal() {
        return USUAL_WIDTH;
    }
    match terminal_size_of(&out) {
        Some((Width(columns), _)) => usize::from(columns),
        None => USUAL_WIDTH,
    }
}

/// Says what the budget objects to.
///
/// # Errors
/// If anything is over its limit.
pub(super) fn objections(design: &Design, objections: Vec<Diagnostic>) -> Result<(), Failure> {
    let report = Report::of(design.project.sources.clone(), objections);
    if report.has_errors() {
        return Err(Failure::Project(report));
    }
    cautions(report);
    Ok(())
}

/// Says what a person should know although it can be built, apart from what comes next.
pub(super) fn cautions(report: Report) {
    if !report.diagnostics.is_empty() {
        complain(&format!("{}\n", diagnostic::render(&report, true)));
    }
}

/// Empties a terminal, so that what is printed next stands alone; leaves a file or pipe as it is.
pub(super) fn clear() {
    let mut out = io::stdout();
    if out.is_terminal() && moves_its_cursor() {
        // Nothing is lost when this fails.
        let _ = out.write_all(b"\x1b[2J\x1b[3J\x1b[H");
        let _ = out.flush();
    }
}

/// Whether the standard output is a terminal that can be drawn on.
///
/// # Errors
/// It is not; says what to do instead.
pub(super) fn ensure_cursor() -> Result<(), Failure> {
    let missing = if !io::stdout().is_terminal() || !io::stdin().is_terminal() {
        "a live preview needs a terminal"
    } else if !moves_its_cursor() {
        "this terminal cannot move its cursor (TERM is dumb)"
    } else {
        return Ok(());
    };
    Err(Failure::usage(missing).hint("without --live, the timelines are printed as text"))
}

fn moves_its_cursor() -> bool {
    std::env::var("TERM").is_ok_and(|term| term != "dumb" && !term.is_empty())
}
