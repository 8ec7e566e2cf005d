//! The screen: a line about what plays, a string of lamps a channel, and the keys.

use std::collections::VecDeque;

use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::style::Style;
use ratatui::text::{Line, Span, Text};
use ratatui::widgets::{Clear, Paragraph, Wrap};

use crate::light::cie;
use crate::picture::tint;
use crate::preview::{self, Glyphs};
use crate::spec::{Project, Tap};
use crate::units::{Lightness, Luminance};

use super::colour::Colours;
use super::keys::{CELLS, CONTACT, CURTAINS, DIMMER, KEYS, KNOB, OFF, SWITCH};
use super::session::{Session, State};

/// Lamps of a string, as far as there is room.
const LAMPS: usize = 9;
/// What light is drawn with where there are no colours.
const GLYPHS: Glyphs = Glyphs::Blocks;
/// Columns of the figures.
const FIGURES: usize = 9;

/// Draws a session; `fault`: why what is in the file cannot be shown.
pub fn draw(frame: &mut Frame, session: &Session, colours: Colours, fault: Option<&str>) {
    let channels = session.design().project.channels.len() as u16;
    let area = frame.area();
    let keys = keys(area.width, &session.design().project, colours);
    let foot = keys.lines.len() as u16;
    let head = 2;
    let a_channel = if area.height >= head + 2 * channels + foot + 2 {
        2
    } else {
        1
    };
    let [top, strings, middle, bottom] = Layout::vertical([
        Constraint::Length(head),
        Constraint::Length(channels * a_channel),
        Constraint::Fill(1),
        Constraint::Length(foot),
    ])
    .areas(area);
    let width = usize::from(area.width);
    frame.render_widget(Paragraph::new(heading(session, width, colours)), top);
    let room = strings.height / a_channel;
    let shown = if room < channels {
        room.saturating_sub(1)
    } else {
        channels
    };
    for channel in 0..shown {
        let y = strings.y + channel * a_channel;
        let place = Rect::new(strings.x, y, strings.width, a_channel);
        string(frame, place, session, usize::from(channel), colours);
    }
    if shown < channels && strings.height > 0 {
        let place = Rect::new(strings.x, strings.y + shown * a_channel, strings.width, 1);
        let more = format!("  {} more, in a taller window", channels - shown);
        frame.render_widget(Paragraph::new(Line::styled(more, colours.quiet())), place);
    }
    frame.render_widget(Paragraph::new(keys), bottom);
    match (fault, session.state) {
        (Some(fault), _) => notice(frame, area, fault, colours),
        (None, State::Asks(count)) => notice(frame, area, &question(session, count), colours),
        (None, _) => {
            let news = Line::styled(format!("  {}", session.news), colours.quiet());
            if middle.height > 0 {
                let line = Rect::new(middle.x, middle.bottom() - 1, middle.width, 1);
                frame.render_widget(Paragraph::new(news), line);
            }
        }
    }
}

fn question(session: &Session, count: usize) -> String {
    format!(
        "{} flashes {count} times in a second at this speed.\n\nMore than three can cause seizures in \
         people with photosensitive epilepsy, who may not know that they have it.\n\n\
         y shows it all the same; n goes to the next pattern; q leaves.",
        session.scene()
    )
}

/// What plays, and how. Where there is no room for all, the project's name goes first, and then the show's.
fn heading<'a>(session: &'a Session, width: usize, colours: Colours) -> Line<'a> {
    let state = match session.state {
        State::Plays => match session.speed() {
            1.0 => String::new(),
            speed => format!("  ×{speed}"),
        },
        State::Paused => "  paused".to_string(),
        State::Asks(_) => "  waits".to_string(),
    };
    let show = match session.pinned {
        Some(_) => "by itself",
        None => session.show(),
    };
    let button = if session.is_pressed() {
        "  [button down]"
    } else {
        ""
    };
    let name = Span::styled(
        format!("  {}", session.design().project.name.value),
        colours.strong(),
    );
    let show = Span::raw(format!("  {show}: "));
    let scene = Span::styled(session.scene(), colours.strong());
    let time = Span::styled(
        format!("  {:.2} s{state}{button}", session.time()),
        colours.quiet(),
    );
    let all = [
        vec![name, show.clone(), scene.clone(), time.clone()],
        vec![show, scene.clone(), time.clone()],
        vec![Span::raw("  "), scene, time],
    ];
    let lines = all.map(Line::from);
    let fits = lines.iter().position(|line| line.width() <= width);
    let [.., least] = &lines;
    lines
        .get(fits.unwrap_or(lines.len()))
        .unwrap_or(least)
        .clone()
}

fn string(frame: &mut Frame, area: Rect, session: &Session, channel: usize, colours: Colours) {
    let design = session.design();
    let longest = design.project.channels.iter();
    let longest = longest
        .map(|known| known.name.value.len())
        .max()
        .unwrap_or(0);
    let name = &design.project.channels[channel].name.value;
    let light = session.duties()[channel].luminance();
    let lightness = cie::lightness(light);
    let top = preview::top(design);
    let room = usize::from(area.width).saturating_sub(longest + 4 + FIGURES);
    let lamps = LAMPS.min(room / 4);
    let glyph = match (colours.glows(), light.0 > 0.0) {
        (true, true) => '●',
        (true, false) => '○',
        (false, _) => GLYPHS.of(lightness, top),
    };
    let lamp = match (colours.glows(), light.0 > 0.0) {
        (true, false) => colours.quiet(),
        _ => colours.lamp(tint(design, channel), light),
    };
    let past = room.saturating_sub(2 * lamps + 1);
    let mut line = vec![
        Span::raw(format!("  {name:<longest$}  ")),
        Span::styled(format!("{glyph} ").repeat(lamps), lamp),
        Span::styled(
            format!("{:>6.1}   ", lightness.0),
            figure_style(light, colours),
        ),
    ];
    line.extend(trail(
        session.history(channel),
        past,
        top,
        colours,
        session,
        channel,
    ));
    let mut lines = vec![Line::from(line)];
    if area.height > 1 {
        let step = session.step(channel);
        let indent = " ".repeat(longest + 4);
        lines.push(Line::styled(format!("{indent}{step}"), colours.quiet()));
    }
    frame.render_widget(Paragraph::new(lines), area);
}

fn figure_style(light: Luminance, colours: Colours) -> Style {
    if light.0 > 0.0 {
        Style::new()
    } else {
        colours.quiet()
    }
}

/// What a string did lately, the newest at the right. As many colours as there are glyphs: they
/// are worked out once for a stretch of equal ones.
fn trail<'a>(
    history: &VecDeque<Lightness>,
    room: usize,
    top: Lightness,
    colours: Colours,
    session: &Session,
    channel: usize,
) -> Vec<Span<'a>> {
    let blank = room.saturating_sub(history.len());
    let tint = tint(session.design(), channel);
    let mut spans = vec![Span::raw(" ".repeat(blank))];
    let mut stretch = String::new();
    let recent = history.iter().skip(history.len().saturating_sub(room));
    let mut glyphs = recent.map(|&past| GLYPHS.of(past, top)).peekable();
    while let Some(glyph) = glyphs.next() {
        stretch.push(glyph);
        if glyphs.peek() != Some(&glyph) {
            let style = match GLYPHS.ramp().iter().position(|&known| known == glyph) {
                Some(at) => {
                    let share = (at + 1) as f64 / GLYPHS.ramp().len() as f64;
                    // Never so dark that it cannot be told from the ground.
                    let shown = Lightness((top.0 * share).max(35.0));
                    colours.lamp(tint, cie::luminance(shown))
                }
                None => colours.quiet(),
            };
            spans.push(Span::styled(std::mem::take(&mut stretch), style));
        }
    }
    spans
}

/// The keys, in as many lines as they need.
fn keys<'a>(width: u16, project: &Project, colours: Colours) -> Text<'a> {
    let mut lines: Vec<Vec<Span>> = vec![Vec::new()];
    let mut used = 0;
    let has = |key: &str| match key {
        OFF => project.standby.is_some(),
        SWITCH => project.selector.is_some(),
        DIMMER => project.tapped(Tap::Darker).is_some(),
        KNOB => project.knob.is_some(),
        CURTAINS => project.sensor.is_some(),
        CELLS => project.guard.is_some(),
        CONTACT => !project.contacts.is_empty(),
        _ => true,
    };
    for (key, does) in KEYS.iter().filter(|(key, _)| has(key)) {
        let length = key.len() + does.len() + 4;
        if used > 0 && used + length > usize::from(width) {
            lines.push(Vec::new());
            used = 0;
        }
        used += length;
        let line = lines.last_mut().expect("there is one");
        line.push(Span::styled(format!("  {key}"), colours.strong()));
        line.push(Span::styled(format!(" {does} "), colours.quiet()));
    }
    Text::from(lines.into_iter().map(Line::from).collect::<Vec<_>>())
}

/// A word over everything else.
fn notice(frame: &mut Frame, area: Rect, text: &str, colours: Colours) {
    let height = (text.lines().count() as u16 + 4).min(area.height);
    let [_, place, _] = Layout::vertical([
        Constraint::Fill(1),
        Constraint::Length(height),
        Constraint::Fill(1),
    ])
    .areas(area);
    let place = Rect {
        x: place.x + 2.min(place.width),
        width: place.width.saturating_sub(4),
        ..place
    };
    let mut lines: Vec<Line> = text
        .lines()
        .map(|line| Line::raw(line.to_string()))
        .collect();
    if let Some(first) = lines.first_mut() {
        *first = std::mem::take(first).style(colours.warning());
    }
    frame.render_widget(Clear, place);
    frame.render_widget(Paragraph::new(lines).wrap(Wrap { trim: false }), place);
}
