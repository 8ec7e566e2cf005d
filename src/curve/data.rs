//! The brightness levels as data, for a script.

use serde::Serialize;

use super::choices::{self, Choice};
use super::figures;
use crate::board::{Lamp, lamps, worst};
use crate::design::Design;
use crate::light::rows;
use crate::units::{Bytes, DeltaLightness, Hertz, Share, rounded};

/// What `report` tells, in numbers.
#[derive(Debug, Serialize)]
pub struct CurveData {
    project: String,
    curve: String,
    /// The largest error that the project allows.
    allowed: DeltaLightness,
    /// Of a PWM period, and the on-counts that mean all of it.
    frequency: Hertz,
    whole: u16,
    /// The channel whose light is furthest off at the LED, where its switch is known.
    at_led_of: Option<String>,
    levels: Vec<LevelData>,
    /// How the curve could be stored, the smallest first.
    stored: Vec<FormData>,
    /// Every PWM that the timers could have, the fastest first.
    pwm: Vec<Choice>,
}

#[derive(Debug, Serialize)]
struct LevelData {
    level: u8,
    share: f64,
    /// L* as wanted, as the pin has it, and as the LED does.
    wanted: f64,
    real: f64,
    at_led: Option<f64>,
    /// The same of parts that store half as long, and half as long again, where it stores anything.
    with_others: Option<[f64; 2]>,
    /// Of a PWM period, on average.
    on_counts: f64,
    on: Share,
    slowest: Option<Hertz>,
}

#[derive(Debug, Serialize)]
struct FormData {
    form: String,
    data: Bytes,
    code: Bytes,
    largest_error: DeltaLightness,
    passes: bool,
    used: bool,
}

/// All levels of a design, and how they could be stored.
pub fn data(design: &Design) -> CurveData {
    let lamps = lamps(design);
    let lamp = worst(&lamps);
    let brightness = &design.project.brightness;
    let pwm = design.plan.drive.pwm();
    CurveData {
        project: design.project.name.value.clone(),
        curve: figures::name(&brightness.curve.value),
        allowed: design.scale.allowed(),
        frequency: pwm.frequency,
        whole: pwm.whole,
        at_led_of: lamp.map(|lamp| design.project.channels[lamp.channel].name.value.clone()),
        levels: levels(design, lamp),
        stored: stored(design),
        pwm: choices::all(design, &lamps),
    }
}

fn levels(design: &Design, lamp: Option<&Lamp>) -> Vec<LevelData> {
    let drive = &design.plan.drive;
    let light = &design.deck.light;
    let all = rows(&design.scale, |level| light.duty(level), drive.pwm().whole);
    let spread = lamp.and_then(|lamp| lamp.light.over_storage.as_ref());
    let level = |row: crate::light::LevelRow| LevelData {
        level: row.level.0,
        share: rounded(row.share.0, 1e4),
        wanted: rounded(row.ideal.0, 1e3),
        real: rounded(row.real.0, 1e3),
        at_led: lamp.map(|lamp| rounded(lamp.light.typical[usize::from(row.level.0)].0, 1e3)),
        with_others: spread.map(|ends| {
            ends.each_ref()
                .map(|light| rounded(light[usize::from(row.level.0)].0, 1e3))
        }),
        on_counts: rounded(f64::from(row.duty.0) / 256.0, 1e4),
        on: Share(rounded(row.on.0, 1e6)),
        slowest: drive.slowest(row.duty),
    };
    all.into_iter().map(level).collect()
}

fn stored(design: &Design) -> Vec<FormData> {
    let used = &design.deck.light;
    let forms = figures::forms_of(design).into_iter();
    forms
        .map(|other| FormData {
            form: figures::described(&other),
            data: other.size.data,
            code: other.size.code,
            largest_error: DeltaLightness(rounded(other.figures.largest_error.0.0, 1e3)),
            passes: other.passes,
            used: other.form == used.form && other.gated == used.gated,
        })
        .collect()
}
