//! The board as a person reads it.

use std::fmt::Write;

use super::flicker::{Component, low_risk_limit};
use super::light::spread_of;
use super::{Board, ClockTruth, FlickerReport, PumpReport, Range, SceneReport, ShowReport};
use crate::circuit::Hung;
use crate::row::Limit;
use crate::units::{Seconds, Volts};

/// Columns of a page.
const PAGE: usize = 100;

pub(super) fn text(board: &Board) -> String {
    let mut text = String::new();
    strings(board, &mut text);
    if let Some(pump) = &board.pump {
        self::pump(pump, &mut text);
    }
    scenes(&board.scenes, &mut text);
    shows(&board.shows, &mut text);
    flicker(&board.flicker, &mut text);
    clock(&board.clock, &mut text);
    verdicts(board, &mut text);
    text.trim_start().to_string()
}

macro_rules! line {
    ($text:expr, $($arguments:tt)*) => {
        writeln!($text, $($arguments)*).expect("a String can be written to")
    };
}

fn strings(board: &Board, text: &mut String) {
    if !board.circuit.is_known() {
        return;
    }
    line!(text, "Strings");
    for (name, hung) in board.channels.iter().zip(&board.circuit.strings) {
        match hung {
            Some(hung) => string(name, hung, text),
            None => line!(text, "  {name:<14} nothing is said of it"),
        }
    }
}

fn string(
    name: &str,
    Hung {
        rail,
        volts,
        string,
    }: &Hung,
    text: &mut String,
) {
    let side_by_side = match string.parallel {
        1 => String::new(),
        count => format!(", {count} side by side"),
    };
    let rating = string
        .rating
        .map_or("no usual rating".to_string(), |rating| rating.to_string());
    let [dimmest, brightest] = spread_of(string);
    line!(
        text,
        "  {name:<14} {} in series ({}){side_by_side} on {} ({volts})",
        string.leds,
        string.forward,
        rail.text()
    );
    line!(
        text,
        "  {:<14} {} {}, {rating}; {} ({} to {}, {dimmest:+.0} to {brightest:+.0} L*)",
        "",
        if string.sink.is_some() {
            "emitter resistor"
        } else {
            "resistor"
        },
        string.resistor,
        string.current,
        string.least,
        string.most
    );
    if let Some(sink) = string.sink {
        line!(
            text,
            "  {:<14} sink: base at {} from the pin and {} to ground, {} of the pin's",
            "",
            sink.divider.upper,
            sink.divider.lower,
            string.pin
        );
    } else if let Some(base) = string.base {
        line!(
            text,
            "  {:<14} base resistor {}, {}",
            "",
            base.resistor,
            base.current
        );
    }
}

fn pump(report: &PumpReport, text: &mut String) {
    let PumpReport { pump, window, .. } = report;
    line!(
        text,
        "\nCharge pump: {} stages of {} at {}, reservoir {}",
        pump.stages,
        pump.capacitor,
        pump.clock,
        pump.reservoir
    );
    let nodes: Vec<String> = report.nodes.iter().map(Volts::to_string).collect();
    line!(
        text,
        "  open           {} (stages {})",
        report.open,
        nodes.join(", ")
    );
    line!(
        text,
        "  loaded         {} with {}, ripple {}",
        report.loaded,
        report.load,
        report.ripple
    );
    line!(
        text,
        "  resistance     {}, of which the pins {} whatever the clock",
        report.resistance,
        pump.floor()
    );
    line!(
        text,
        "  charging       {} in half a cycle; {} from cold",
        pump.charged(),
        report.start_up
    );
    let useful = if window.slowest <= window.fastest {
        format!("useful from {} to {}", window.slowest, window.fastest)
    } else {
        format!(
            "none is useful: below {} it droops, from {} on the pins hold it back",
            window.slowest, window.fastest
        )
    };
    line!(
        text,
        "  clock          {useful}; best of those it can have: {}",
        window
            .best
            .map_or("none".to_string(), |clock| clock.to_string())
    );
    if let Some(smallest) = window.smallest {
        line!(text, "  capacitor      {smallest} would do at this clock");
    }
    for doubt in &report.doubts {
        line!(text, "  careful        {}", doubt.text());
    }
}

impl super::Doubt {
    /// In words.
    pub fn text(self) -> &'static str {
        match self {
            Self::Overload => "overloaded: the voltage falls apart, this figure is not exact",
            Self::Leakage => "the diodes leak much at so slow a clock: the real voltage is lower",
            Self::Reservoir => "the reservoir is smaller than a stage's capacitor: mostly ripple",
            Self::Diode => {
                "more current than at the diode's second point: its resistance holds back more"
            }
            Self::Stray => "the capacitors are so small that those of the diodes count",
        }
    }
}

fn scenes(scenes: &[SceneReport], text: &mut String) {
    line!(text, "\nPatterns");
    for scene in scenes {
        let length = match (scene.period, scene.random) {
            (Some(_), _) if scene.constant => "constant".to_string(),
            (Some(period), _) => format!("loop of {period}"),
            (None, true) => format!("random, {} minutes", scene.flashes.takes),
            (None, false) => "a very long loop".to_string(),
        };
        line!(
            text,
            "  {:<14} {length}; flashes in its busiest second: {}",
            scene.name,
            scene.flashes.worst.flashes
        );
        if let Some(currents) = &scene.currents {
            let [least, most] = currents.spread;
            let spread = if scene.random {
                format!(" ({least} to {most})")
            } else {
                String::new()
            };
            line!(
                text,
                "  {:<14} mean {}{spread}, peak {} at {}",
                "",
                currents.total,
                currents.peak,
                currents.peak_at
            );
        }
    }
}

fn shows(shows: &[ShowReport], text: &mut String) {
    if shows.is_empty() {
        return;
    }
    line!(text, "\nShows");
    for show in shows {
        let life = show.life.map_or(String::new(), |[short, long]| {
            format!("; battery lasts {}", lasts(short, long))
        });
        line!(
            text,
            "  {:<14} mean {} ({} to {}, `{}`){life}",
            show.kind.text(),
            show.mean,
            show.least,
            show.most,
            show.hungriest
        );
    }
}

fn flicker(flicker: &FlickerReport, text: &mut String) {
    let [unseen, low, high] = flicker.levels;
    line!(text, "\nFlicker (IEEE Std 1789-2015, clock at its slowest)");
    line!(
        text,
        "  levels         {unseen} with no observable effect, {low} at low risk, {high} beyond"
    );
    if let Some(slowest) = flicker.slowest {
        line!(text, "  slowest part   {slowest}");
    }
    if let Some(worst) = &flicker.worst {
        let Component {
            frequency,
            modulation,
        } = worst.component;
        line!(
            text,
            "  nearest        {:.1} % at {frequency}, at most {:.1} %",
            modulation.0 * 100.0,
            low_risk_limit(frequency).0 * 100.0
        );
    }
    if let Some(ripple) = flicker.ripple {
        line!(
            text,
            "  pump's ripple  {:.2} % at {}, at most {:.1} %",
            ripple.modulation.0 * 100.0,
            ripple.frequency,
            low_risk_limit(ripple.frequency).0 * 100.0
        );
    }
}

fn clock(clock: &ClockTruth, text: &mut String) {
    let [least, most] = clock.minute;
    line!(text, "\nClock, from its slowest to its fastest (datasheet)");
    for (what, range) in [
        ("processor", Some(clock.processor)),
        ("PWM", Some(clock.pwm)),
        ("slowest part", Some(clock.slowest)),
        ("charge pump", clock.pump),
    ] {
        if let Some(Range { least, most }) = range {
            line!(text, "  {what:<14} {least} to {most}");
        }
    }
    line!(text, "  a minute       {most:.2} s to {least:.2} s");
}

fn verdicts(board: &Board, text: &mut String) {
    line!(text, "\nVerdicts");
    for row in &board.rows {
        let limit = match row.limit {
            Limit::AtMost(limit) => format!("; at most {limit}"),
            Limit::AtLeast(limit) => format!("; at least {limit}"),
            Limit::None => String::new(),
        };
        line!(
            text,
            "  {:<8} {:<36} {}{limit}",
            row.verdict,
            row.what,
            row.figure
        );
        let indent = " ".repeat("  verdict  ".len());
        let options = textwrap::Options::new(PAGE)
            .initial_indent(&indent)
            .subsequent_indent(&indent)
            .word_splitter(textwrap::WordSplitter::NoHyphenation);
        line!(text, "{}", textwrap::fill(&row.note, options).trim_end());
    }
}

/// "12 h", or "12 h to 30 h".
fn lasts(short: Seconds, long: Seconds) -> String {
    let (short, long) = (short.to_string(), long.to_string());
    if short == long {
        short
    } else {
        format!("{short} to {long}")
    }
}
