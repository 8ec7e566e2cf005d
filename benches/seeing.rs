//! How long it takes to see a project: pictures, the page, a difference, and the live preview.
//! `cargo bench --bench seeing` prints one line each.

use std::fs;
use std::hint::black_box;
use std::io;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use duskloom::budget::budget;
use duskloom::design::Design;
use duskloom::diff::{diff, markdown, text};
use duskloom::live::{Colours, Session, Wish, draw};
use duskloom::page::page;
use duskloom::picture;
use duskloom::preview::View;
use duskloom::spec;
use ratatui::backend::CrosstermBackend;
use ratatui::layout::Rect;
use ratatui::{Terminal, TerminalOptions, Viewport};

#[path = "../tests/see/browser.rs"]
#[allow(dead_code)] // The tests use more of it.
mod browser;

const THEATRE: &str = "patterns/theatre.yaml";

/// The shortest of several runs.
fn measure<T>(name: &str, run: impl Fn() -> T) -> T {
    let once = || {
        let start = Instant::now();
        let result = black_box(run());
        (start.elapsed(), result)
    };
    let (shortest, result) = (0..10)
        .map(|_| once())
        .min_by_key(|(time, _)| *time)
        .expect("some runs");
    println!("{name:<44} {shortest:>9.1?}");
    result
}

fn read(text: &str) -> Design {
    let open = |path: &Path| match path.file_name() {
        Some(name) if name == "theatre.yaml" => Ok(text.as_bytes().to_vec()),
        _ => fs::read(path),
    };
    Design::new(spec::read_with(THEATRE.as_ref(), &open).expect("a sound project"))
        .expect("one that fits its chip")
}

/// As many channels as a chip can drive, none of them ever still.
fn busy() -> Design {
    let text = "name: busy\nchip: atmega32u4\nchannels: 7\n\
                patterns: {shimmer: {each: true, steps: \
                [{to: 5 % .. 100 %, over: 100 ms .. 900 ms}]}}\n";
    let open = |_: &Path| Ok(text.as_bytes().to_vec());
    Design::new(spec::read_with(Path::new("busy.yaml"), &open).expect("a sound project"))
        .expect("one that fits its chip")
}

/// A minute of live previews on large terminals, sixty pictures a second; how much of a processor
/// that is. No chip here drives 16 channels, so three lights are watched, each in its own terminal.
fn live() {
    const FRAMES: u32 = 3600;
    const LIGHTS: usize = 3;
    let design = busy();
    let mut lights: Vec<_> = (0..LIGHTS)
        .map(|_| {
            let mut session = Session::new(&design);
            session.obey(Wish::Agree);
            let viewport = Viewport::Fixed(Rect::new(0, 0, 160, 50));
            let backend = CrosstermBackend::new(io::sink());
            let terminal = Terminal::with_options(backend, TerminalOptions { viewport });
            (session, terminal.expect("a terminal"))
        })
        .collect();
    let start = Instant::now();
    for _ in 0..FRAMES {
        for (session, terminal) in &mut lights {
            session.advance(Duration::from_micros(16_667));
            terminal
                .draw(|frame| draw(frame, session, Colours::True, None))
                .expect("drawn");
        }
    }
    let a_frame = start.elapsed() / FRAMES;
    println!(
        "{:<44} {a_frame:>9.1?}  {:.1} % of a processor at 60 a second",
        format!("live, {} channels", LIGHTS * design.project.channels.len()),
        a_frame.as_secs_f64() * 60.0 * 100.0
    );
}

/// How soon something of the page is seen in Chromium, if there is one: the median of some loads.
fn first_paint(html: &str) {
    if Command::new("chromium").arg("--version").output().is_err() {
        return;
    }
    let mut browser = browser::Browser::start();
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("theatre.html");
    fs::write(&path, html).expect("a file");
    let mut times: Vec<f64> = (0..9)
        .map(|_| {
            browser.open(&path);
            let paints = "performance.getEntriesByName('first-contentful-paint').length";
            browser.wait(&format!("{paints} > 0"));
            let first = "performance.getEntriesByName('first-contentful-paint')[0].startTime";
            browser.value(first).as_f64().expect("a time")
        })
        .collect();
    times.sort_by(f64::total_cmp);
    println!(
        "{:<44} {:>7.1}ms",
        "the page's first paint in Chromium", times[4]
    );
}

fn main() {
    let before = fs::read_to_string(THEATRE).expect("the demo");
    let after = before
        .replace("cycles: 4", "cycles: 5")
        .replace("[40 %, 11 %]", "[40 %, 12 %]");
    assert_ne!(before, after);

    let both = || (read(&before), read(&after));
    let (old, new) = measure("both versions of the largest demo, designed", both);
    measure("their difference, as text", || {
        text(&diff(("old", &old), ("new", &new)), false)
    });
    measure("all of it: designed and told as markdown", || {
        let (old, new) = both();
        markdown(&diff(("old", &old), ("new", &new)), false)
    });
    let svg = measure("timelines as a picture", || {
        picture::timelines(&old, &View::default())
    });
    let verdict = budget(&old);
    let cautions = verdict.objections();
    let html = measure("the page", || page(&old, &verdict, &cautions));
    println!(
        "the picture has {} bytes, the page {}",
        svg.len(),
        html.len()
    );
    first_paint(&html);
    live();
}
