//! The terminal: sixty pictures a second, keys, and a clean end whatever happens.

use crate::spec::PatternId;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use ratatui::DefaultTerminal;
use ratatui::crossterm::event::{self, Event};

use crate::design::Design;

use super::colour::Colours;
use super::draw::draw;
use super::keys::Wish;
use super::session::Session;

/// From one picture to the next.
const FRAME: Duration = Duration::from_micros(16_667);
/// From one look at the project's files to the next.
const LOOK: Duration = Duration::from_millis(200);

/// How a session ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The person left.
    Left,
    /// The system asked the tool to end.
    Asked,
}

/// Where new versions of the project come from, while it is watched.
pub trait Outlook {
    /// The project anew if its files have changed: its design, or what is wrong with it.
    fn changed(&mut self) -> Option<Result<Design, String>>;
}

/// Plays a design until the person leaves. Its terminal must be one that can move its cursor.
///
/// # Errors
/// The terminal refuses.
pub fn run(
    design: Design,
    pattern: Option<PatternId>,
    colours: Colours,
    outlook: &mut dyn Outlook,
) -> io::Result<End> {
    let asked = Arc::new(AtomicBool::new(false));
    listen(&asked)?;
    // Also puts the terminal right before a panic is told.
    let mut terminal = ratatui::try_init()?;
    let _clean = Clean;
    let mut design = design;
    let mut pattern = pattern;
    loop {
        match session(&mut terminal, &design, pattern, colours, outlook, &asked)? {
            Next::End(end) => return Ok(end),
            Next::Design(new, name) => {
                design = *new;
                pattern = name.and_then(|name| design.project.pattern_named(&name));
            }
        }
    }
}

/// Puts the terminal right when it goes.
struct Clean;

impl Drop for Clean {
    fn drop(&mut self) {
        ratatui::restore();
    }
}

#[cfg(unix)]
fn listen(asked: &Arc<AtomicBool>) -> io::Result<()> {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    for signal in [SIGHUP, SIGINT, SIGTERM] {
        signal_hook::flag::register(signal, Arc::clone(asked))?;
    }
    Ok(())
}

#[cfg(not(unix))]
fn listen(_: &Arc<AtomicBool>) -> io::Result<()> {
    Ok(())
}

/// What follows a session.
enum Next {
    End(End),
    /// Another version, and the pattern that was on by itself.
    Design(Box<Design>, Option<String>),
}

fn session(
    terminal: &mut DefaultTerminal,
    design: &Design,
    pattern: Option<PatternId>,
    colours: Colours,
    outlook: &mut dyn Outlook,
    asked: &AtomicBool,
) -> io::Result<Next> {
    let mut session = Session::new(design);
    if let Some(scene) = pattern.and_then(|pattern| crate::preview::scene(design, pattern)) {
        session.pin(scene);
    }
    let mut fault: Option<String> = None;
    // A light that stands still is drawn once.
    let mut stale = true;
    let mut last = Instant::now();
    let mut looked = last;
    loop {
        if asked.load(Ordering::Relaxed) {
            return Ok(Next::End(End::Asked));
        }
        let now = Instant::now();
        if fault.is_none() {
            stale |= session.advance(now - last);
        }
        last = now;
        if now - looked >= LOOK {
            looked = now;
            match outlook.changed() {
                Some(Ok(new)) => {
                    let name = session.pinned.map(|_| session.scene());
                    return Ok(Next::Design(Box::new(new), name));
                }
                Some(Err(text)) => {
                    fault = Some(text);
                    stale = true;
                }
                None => {}
            }
        }
        if std::mem::take(&mut stale) {
            terminal.draw(|frame| draw(frame, &session, colours, fault.as_deref()))?;
        }
        while event::poll((now + FRAME).saturating_duration_since(Instant::now()))? {
            stale = true;
            if let Event::Key(key) = event::read()? {
                match Wish::of(key) {
                    Some(Wish::Leave) => return Ok(Next::End(End::Left)),
                    Some(wish) => session.obey(wish),
                    None => {}
                }
            }
        }
    }
}
