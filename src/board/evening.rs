//! Evenings: what a day draws, how long a battery makes them last, and how far their hour wanders.

use serde::Serialize;

use super::asleep::{GARBLED, KEPT, MONTH, months};
use super::clock::ClockTruth;
use super::{Asleep, ShowReport};
use crate::conduct::DAY;
use crate::design::Design;
use crate::input::room::Divider;
use crate::row::{Limit, Quantity, Row, Source};
use crate::units::Seconds;

/// An evening and its night, on the board.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Evenings {
    /// For how long it is lit, fading included, and then dark.
    pub lit: Seconds,
    pub dark: Seconds,
    pub asleep: Asleep,
    /// How long a battery makes them last, on the hungriest pattern and on the most frugal one.
    pub life: Option<[Seconds; 2]>,
    /// `None`: dusk begins them.
    pub drift: Option<Drift>,
}

/// How far the next evening may be off the hour, either way.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Drift {
    /// As the processor's clock is off, which says how long a day is.
    pub clock: Seconds,
    /// As the watchdog's oscillator changes from when it was measured.
    pub watchdog: Seconds,
}

/// How much the watchdog's oscillator changes with the temperature, typically: 7 % from -40 °C to 85 °C ('Watchdog
/// Oscillator Frequency vs. Temperature' among the datasheets' typical characteristics; from memory).
const A_DEGREE: f64 = 0.07 / 125.0;

/// How much colder or warmer nights are than evenings (common practice, no source).
const DEGREES: f64 = 10.0;

/// Beyond that, it may be at any hour.
const ANY_HOUR: f64 = DAY.0 / 2.0;
/// Where the clock is that good, nothing is said of a better one.
const GOOD: f64 = 1e-3;

impl Evenings {
    /// `None`: there are none.
    pub(super) fn new(design: &Design, shows: &[ShowReport]) -> Option<Self> {
        let asleep = Asleep::night(design)?;
        let seconds = |ticks: u32| f64::from(ticks) * design.plan.tick.seconds();
        let timed = design.firmware.evening;
        let (lit, dark) = match (timed, design.firmware.dusk) {
            (Some(evening), _) => (
                seconds(evening.on.0 + evening.goes.0),
                seconds(evening.night.0),
            ),
            (None, Some(dusk)) => {
                let lit = dusk.lit(&design.plan.tick).0;
                (lit, DAY.0 - lit)
            }
            (None, None) => return None,
        };
        // Each day takes a share of what the battery has, on and off.
        let days = |on: f64| {
            asleep
                .life
                .map(|off| (lit + dark) / (lit / on + dark / off.0))
        };
        let lives = || shows.iter().filter_map(|show| show.life);
        let least = lives().map(|[short, _]| short.0).reduce(f64::min);
        let most = lives().map(|[_, long]| long.0).reduce(f64::max);
        let life = least.and_then(days).zip(most.and_then(days));
        let accuracy = ClockTruth::new(&design.plan).accuracy.0;
        Some(Self {
            lit: Seconds(lit),
            dark: Seconds(dark),
            asleep,
            life: life.map(|(short, long)| [short, long].map(|life| Seconds(life.min(KEPT)))),
            drift: timed.map(|_| Drift {
                clock: Seconds(accuracy * (lit + dark)),
                watchdog: Seconds(A_DEGREE * DEGREES * dark),
            }),
        })
    }

    pub(super) fn rows(&self, design: &Design) -> Vec<Row> {
        let row = |name, figure, source, note: String| {
            Row::judged(name, figure, Limit::None, 1.0, source, note)
        };
        let mut rows = vec![row(
            ("night", "current at night"),
            Quantity::Amps(self.asleep.total()),
            Source::Estimated,
            self.asleep.shares(design),
        )];
        rows.extend(self.life.map(|[short, long]| {
            row(
                ("battery-evenings", "battery, evening by evening"),
                Quantity::Seconds(short),
                Source::Estimated,
                self.lasts(short, long),
            )
        }));
        let Some(drift) = self.drift else {
            rows.extend(dusk(design));
            return rows;
        };
        let each = drift.clock.0 + drift.watchdog.0;
        let month = each * MONTH / (self.lit.0 + self.dark.0);
        rows.push(row(
            ("evening-day", "evening off its hour, after a day"),
            Quantity::Seconds(Seconds(each)),
            Source::Estimated,
            drift.shares(design),
        ));
        rows.push(row(
            ("evening-month", "evening off its hour, after a month"),
            Quantity::Seconds(Seconds(month)),
            Source::Estimated,
            remedy(design, month),
        ));
        rows
    }

    /// For whom it is long or short.
    fn lasts(&self, short: Seconds, long: Seconds) -> String {
        let frugal = match long.0 > 1.05 * short.0 {
            true => format!("; {:.1} on the most frugal pattern", long.0 / MONTH),
            false => String::new(),
        };
        let asleep = self.asleep.life.map_or(String::new(), |life| {
            let years = match life.0 >= KEPT {
                true => "ten years, for which cells keep at most".to_string(),
                false => format!("{} months", months(life)),
            };
            format!("; always dark, {years}")
        });
        let detector = self
            .asleep
            .life_without_detector
            .map_or(String::new(), |life| {
                format!(
                    ", and {} without the brown-out detector{GARBLED}",
                    months(life)
                )
            });
        format!("{:.1} months{frugal}{asleep}{detector}", short.0 / MONTH)
    }
}

impl Drift {
    fn shares(self, design: &Design) -> String {
        let accuracy = design.plan.clock.accuracy;
        let clock = match accuracy.0 < GOOD {
            true => format!("{:.0} ppm", accuracy.0 * 1e6),
            false => accuracy.to_string(),
        };
        format!(
            "{} where the clock is {clock} off, its most by the datasheet; {} where the watchdog's oscillator, which \
             counts at night, is {DEGREES:.0} °C colder or warmer than in the evening (typical, from memory)",
            said(self.clock),
            said(self.watchdog)
        )
    }
}

/// In what light it comes on.
fn dusk(design: &Design) -> Option<Row> {
    let sensor = design.project.sensor.as_ref()?;
    let divider = Divider::new(sensor);
    let room = design.firmware.dusk?.room;
    let [least, comes, most] = divider.lights(room.dark);
    let [first, goes, last] = divider.lights(room.bright);
    let note = format!(
        "{least} to {most} as light-dependent resistors of this kind differ; off above {goes}, {first} to {last}"
    );
    Some(Row::judged(
        ("dusk", "light below which it comes on"),
        Quantity::Lux(comes),
        Limit::None,
        1.0,
        Source::Estimated,
        note,
    ))
}

/// What helps.
fn remedy(design: &Design, month: f64) -> String {
    let accuracy = design.plan.clock.accuracy.0;
    let mut remedies = Vec::new();
    if design.firmware.wakes {
        remedies
            .push("a press at night begins an evening there and then, and every day at that hour");
    } else {
        remedies.push("with a `button`, a press at night begins an evening there and then");
    }
    if design.plan.chip.converter.is_some() {
        remedies.push("with a sensor of light it begins at dusk");
    }
    if accuracy >= GOOD {
        remedies.push("a crystal leaves what the watchdog's oscillator makes");
    }
    let any = if month > ANY_HOUR {
        "at any hour; "
    } else {
        ""
    };
    format!("{any}{}", remedies.join("; "))
}

/// In whole minutes, where it is some.
fn said(time: Seconds) -> String {
    match time.0 {
        seconds if (120.0..7200.0).contains(&seconds) => format!("{:.0} min", seconds / 60.0),
        _ => time.to_string(),
    }
}
