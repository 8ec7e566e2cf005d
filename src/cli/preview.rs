//! `duskloom preview`.

use std::path::PathBuf;

use clap::{Args, value_parser};

use duskloom::design::Design;
use duskloom::live::{self, Colours, Outlook};
use duskloom::preview::{Glyphs, Style, View, day, frames, timelines};
use duskloom::spec::{self, PatternId};
use duskloom::units::Time;
use duskloom::{budget, page, picture};

use super::failure::Failure;
use super::file;
use super::project::ProjectFile;
use super::screen::{self, Form, Format};
use super::watch::{Blind, Watch, again};

/// Show patterns as text timelines
///
/// A row a channel, time from left to right. Patterns are played by an exact model of the firmware,
/// so this is what the chip will do, draws included: the same seed gives the same draws.
#[derive(Debug, Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Preview {
    #[command(flatten)]
    project: ProjectFile,
    /// Show this pattern only; can be given several times [default: all of them, and steady levels]
    #[arg(short, long, value_name = "NAME")]
    pattern: Vec<String>,
    /// Begin so long after the pattern starts
    #[arg(long, value_name = "TIME", value_parser = spec::time, default_value = "0 s")]
    start: Time,
    /// Show so much of it [default: one round, or several short ones]
    #[arg(long, value_name = "TIME", value_parser = span)]
    span: Option<Time>,
    /// Columns of text [default: the terminal's, or 100]
    #[arg(short, long, value_name = "COLUMNS", value_parser = value_parser!(u16).range(30..=1000))]
    width: Option<u16>,
    /// State of the random generator when a pattern starts [default: a new chip's]
    #[arg(long, value_name = "NUMBER")]
    seed: Option<u16>,
    /// Use plain ASCII
    #[arg(long)]
    ascii: bool,
    /// Timelines, or the frames as data: a frame is what each channel puts out at a tick
    #[arg(long, value_enum, default_value_t = Form::Text)]
    format: Form,
    /// Draw the timelines as a picture instead; `-` prints it
    #[arg(long, value_name = "FILE", conflicts_with_all = ["width", "ascii", "format"])]
    svg: Option<PathBuf>,
    /// Write a page instead that plays the patterns in a browser, without a network; `-` prints it
    #[arg(long, value_name = "FILE",
        conflicts_with_all = ["width", "ascii", "format", "svg", "pattern", "start", "span", "seed"])]
    html: Option<PathBuf>,
    /// Show an evening and the night after it instead, from power-up to the next one
    #[arg(long, conflicts_with_all = ["pattern", "start", "span", "format", "svg", "html", "live"])]
    day: bool,
    /// Play it in the terminal, in real time, with the button
    #[arg(long, conflicts_with_all = ["width", "ascii", "format", "svg", "html", "start", "span", "seed"])]
    live: bool,
    /// Do it again whenever a file of the project is saved; Ctrl-C ends it
    #[arg(long)]
    watch: bool,
}

const EXAMPLES: &str = "\
Examples:
  duskloom preview porch.yaml
  duskloom preview porch.yaml --pattern embers --seed 7
  duskloom preview porch.yaml --pattern tide --start '2 s' --span 800ms
  duskloom preview porch.yaml --ascii --width 72 > timeline.txt
  duskloom preview porch.yaml --pattern tide --format csv > tide.csv
  duskloom preview porch.yaml --svg timeline.svg
  duskloom preview porch.yaml --html porch.html
  duskloom preview porch.yaml --live --watch";

/// A span of time with its unit.
///
/// # Errors
/// Says what is wrong with it.
pub(super) fn span(text: &str) -> Result<Time, String> {
    match spec::time(text)? {
        Time(0) => Err("nothing can be seen of no time".to_string()),
        span => Ok(span),
    }
}

impl Preview {
    pub(super) fn reader(&self) -> Format {
        self.format.reader()
    }

    pub(super) fn run(self) -> Result<(), Failure> {
        if self.live {
            return self.live();
        }
        if self.watch {
            return again(&self.project, |design| self.show(design));
        }
        self.show(&self.project.design()?)
    }

    /// Once, in whichever form was asked for.
    fn show(&self, design: &Design) -> Result<(), Failure> {
        let view = View {
            patterns: self.patterns(design)?,
            start: self.start,
            span: self.span,
            seed: self.seed.unwrap_or(View::default().seed),
        };
        if let Some(svg) = &self.svg {
            let busy = screen::busy("playing the patterns");
            let picture = picture::timelines(design, &view);
            busy.finish_and_clear();
            return file::write(svg, file::Kind::Svg, &picture);
        }
        if let Some(html) = &self.html {
            let verdict = budget::budget(design);
            let objections = verdict.objections();
            let page = page::page(design, &verdict, &objections);
            return file::write(html, file::Kind::Html, &page);
        }
        match self.format {
            Form::Text => {}
            Form::Json => return screen::print(&screen::json(&frames(design, &view))?),
            Form::Csv => return screen::print(&frames(design, &view).csv()),
        }
        let style = Style {
            width: self.width.map_or_else(screen::width, usize::from),
            glyphs: if self.ascii {
                Glyphs::Ascii
            } else {
                Glyphs::Blocks
            },
        };
        let busy = screen::busy("playing the patterns");
        let text = match self.day {
            true => day(design, view.seed, &style).ok_or_else(no_evening)?,
            false => timelines(design, &view, &style),
        };
        busy.finish_and_clear();
        screen::print(&text)
    }

    fn live(&self) -> Result<(), Failure> {
        screen::ensure_cursor()?;
        let design = self.project.design()?;
        let pattern = match self.patterns(&design)?[..] {
            [] => None,
            [one] => Some(one),
            _ => {
                return Err(Failure::usage("a live preview begins with one pattern")
                    .hint("`n` goes on to the next"));
            }
        };
        let colours = Colours::of(|name| std::env::var(name).ok());
        let mut watch = Watch::new(&self.project, &design.project.sources);
        let outlook: &mut dyn Outlook = if self.watch { &mut watch } else { &mut Blind };
        match live::run(design, pattern, colours, outlook) {
            Ok(_) => Ok(()),
            Err(error) => Err(Failure::world(format!("cannot use the terminal: {error}"))),
        }
    }

    fn patterns(&self, design: &Design) -> Result<Vec<PatternId>, Failure> {
        let names = self.pattern.iter();
        names.map(|name| find(design, name)).collect()
    }
}

fn no_evening() -> Failure {
    Failure::usage("the project has no evenings: it is on all day".to_string())
        .hint("`evening: {on: 5 h}` makes it so".to_string())
}

fn find(design: &Design, name: &str) -> Result<PatternId, Failure> {
    let patterns = &design.project.patterns;
    let known = || patterns.iter().map(|pattern| pattern.name.value.as_str());
    design.project.pattern_named(name).ok_or_else(|| {
        Failure::usage(format!("no show plays a pattern `{name}`")).hint(match known().count() {
            0 => "the project's shows play no patterns".to_string(),
            _ => format!("there is {}", known().collect::<Vec<_>>().join(", ")),
        })
    })
}
