//! An evening and the night after it, at a glance, played on the model of the whole light.

use crate::conduct::{DAY, NIGHT};
use crate::design::Design;
use crate::firmware::Light;
use crate::input::Sensed;
use crate::light::cie;
use crate::player::Generator;
use crate::units::{Duty, Lightness, Time};

use super::{Style, draw, window};

/// How much is shown of the light's coming and going, where it does not fade; else so many times the fade.
const MOMENT: f64 = 2.0;
const FADES: f64 = 2.0;

/// What a column of the day may be, in seconds.
const COLUMNS: [f64; 13] = [
    60.0, 120.0, 300.0, 600.0, 900.0, 1200.0, 1800.0, 3600.0, 7200.0, 10_800.0, 14_400.0, 21_600.0,
    43_200.0,
];

/// A stretch of time, in columns.
struct Stretch {
    title: String,
    /// In seconds from the start of the evening; and what the axis calls that.
    from: f64,
    called: f64,
    column: f64,
    columns: usize,
}

/// What the channels do over a stretch: of each column the brightest moment, by channel.
struct Band {
    stretch: Stretch,
    brightest: Vec<Vec<Duty>>,
}

/// From power-up, or the press that ends standby, to the next evening; draws begin from `seed`. `None`: the project
/// has no evenings.
pub fn day(design: &Design, seed: u16, style: &Style) -> Option<String> {
    let tick = design.plan.tick.seconds();
    let seconds = |ticks: u32| f64::from(ticks) * tick;
    let goes = seconds(design.firmware.fade.map_or(0, |fade| fade.ticks() as u32));
    let moment = MOMENT.max(FADES * goes);
    let (on, every) = match (design.firmware.evening, design.firmware.dusk) {
        (Some(evening), _) => {
            let on = seconds(evening.on.0);
            (on, on + goes + seconds(evening.night.0))
        }
        (None, Some(dusk)) => (dusk.lit(&design.plan.tick).0, DAY.0),
        (None, None) => return None,
    };
    let room = draw::room(design, style);
    let night = on + goes;
    let stretches = [
        Stretch::new(
            match &design.project.sensor {
                None => format!(
                    "a day: on for {}, dark for {}, from one evening to the next {}",
                    said(night),
                    said(every - night),
                    said(every)
                ),
                Some(sensor) => format!(
                    "a day from dusk to dusk, with a night of {}: on for {} below {}, off above {}",
                    said(NIGHT.0),
                    said(on),
                    sensor.dark.value,
                    sensor.bright.value
                ),
            },
            (0.0, every),
            room,
        ),
        Stretch::new("it comes".to_string(), (0.0, moment), room),
        Stretch {
            called: -moment,
            ..Stretch::new(
                "it goes, to the dark at 0 s".to_string(),
                (night - moment, night + moment / 4.0),
                room,
            )
        },
    ];
    let mut bands = stretches.map(|stretch| Band {
        brightest: vec![vec![Duty(0); stretch.columns]; design.project.channels.len()],
        stretch,
    });
    let eeprom = vec![0xFF; design.plan.chip.eeprom.size.0 as usize];
    let mut light = Light::restarted(design.works(), &eeprom, Generator::new(seed));
    let mut ticks = 0;
    while !light.is_night() {
        let duties = light.play();
        let now = seconds(ticks);
        ticks += 1;
        for band in &mut bands {
            band.show(now, &duties);
        }
        light.turn(Sensed {
            room: if now < on { u8::MAX } else { 0 },
            ..Sensed::REST
        });
    }
    let parts: Vec<String> = bands.iter().map(|band| band.text(design, style)).collect();
    let legend = draw::legend(design, style);
    Some(format!("{}\n{legend}", parts.join("\n")))
}

impl Stretch {
    /// In columns of a round length, of which there is room for so many.
    fn new(title: String, (from, to): (f64, f64), room: usize) -> Self {
        let least = (to - from) / room as f64;
        let long = COLUMNS.into_iter().filter(|_| least > COLUMNS[0] / 2.0);
        let column = long.into_iter().find(|column| *column >= least);
        let column = column.unwrap_or_else(|| window::column(to - from, room as f64, 0.0));
        Self {
            title,
            from,
            called: from,
            column,
            columns: (((to - from) / column - 1e-6).ceil() as usize).clamp(1, room),
        }
    }
}

impl Band {
    fn show(&mut self, now: f64, duties: &[Duty]) {
        let at = ((now - self.stretch.from) / self.stretch.column).floor();
        if !(0.0..self.stretch.columns as f64).contains(&at) {
            return;
        }
        for (row, duty) in self.brightest.iter_mut().zip(duties) {
            let cell = &mut row[at as usize];
            *cell = Duty(cell.0.max(duty.0));
        }
    }

    fn text(&self, design: &Design, style: &Style) -> String {
        let indent = draw::indent(design);
        let Stretch {
            called,
            column,
            columns,
            ..
        } = self.stretch;
        let mut text = format!("{}; {} a column\n\n", self.stretch.title, said(column));
        for line in draw::scale(called, column, columns, style) {
            text += format!("{:indent$}{line}", "").trim_end();
            text.push('\n');
        }
        let top = draw::top(design);
        for (channel, row) in design.project.channels.iter().zip(&self.brightest) {
            let light = |duty: &Duty| -> Lightness { cie::lightness(duty.luminance()) };
            let row: String = row
                .iter()
                .map(|duty| style.glyphs.of(light(duty), top))
                .collect();
            text += format!("{:indent$}{row}", format!("  {}", channel.name.value)).trim_end();
            text.push('\n');
        }
        text
    }
}

/// To the second, or to the millisecond where it is short.
fn said(seconds: f64) -> String {
    let unit = if seconds < 60.0 { 1e-3 } else { 1.0 };
    Time(((seconds / unit).round() * unit * 1e9).round() as u64).to_string()
}
