//! Flicker of everything the project can show: each channel at each level, and the pump's ripple.

use std::collections::BTreeMap;

use serde::Serialize;

use super::clock::ClockTruth;
use super::flicker::{self, Component, Risk};
use crate::circuit::{Circuit, PumpFlow};
use crate::design::Design;
use crate::drive::port::Planes;
use crate::drive::timer::{Dither, TimerDrive};
use crate::drive::{Drive, PwmPlan, Way};
use crate::light::Depth;
use crate::units::{Duty, Hertz, Level, Luminance};

/// Flicker over all channels and levels, with the clock anywhere within its range.
#[derive(Debug, Clone, Serialize)]
pub struct FlickerReport {
    /// The slowest component of any level.
    pub slowest: Option<Hertz>,
    /// Levels by verdict, over all channels: no observable effect, low risk, beyond both.
    pub levels: [usize; 3],
    /// The level nearest to, or furthest beyond, the low-risk limit.
    pub worst: Option<LevelFlicker>,
    /// The most by which the pump's ripple moves the light of a string, all strings lit.
    pub ripple: Option<Component>,
    pub risk: Risk,
    /// `pwm: {slowest: …}` with which every level is at low risk; `None`: it is already, or no
    /// depth would do.
    pub remedy: Option<Hertz>,
}

/// One level's strongest component, against the limit, at the slowest clock.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LevelFlicker {
    pub channel: usize,
    pub level: Level,
    pub duty: Duty,
    pub component: Component,
    pub risk: Risk,
}

impl FlickerReport {
    pub fn new(design: &Design, circuit: &Circuit, full: Option<PumpFlow>) -> Self {
        let slow = ClockTruth::new(&design.plan).factors()[0];
        let known = by_duty(design, slow);
        let all: Vec<LevelFlicker> = lit(design)
            .filter_map(|(channel, level, duty)| {
                let component = known[&kind(design, channel, duty)]
                    .iter()
                    .copied()
                    .max_by(Component::by_harm)?;
                Some(LevelFlicker {
                    channel,
                    level,
                    duty,
                    component,
                    risk: component.risk(),
                })
            })
            .collect();
        let ripple = ripple(circuit, full).map(|component| component.at_clock(slow));
        let of_levels = all.iter().map(|level| level.risk);
        let risk = of_levels
            .chain(ripple.map(Component::risk))
            .max()
            .unwrap_or(Risk::NoEffect);
        let count = |risk| all.iter().filter(|level| level.risk == risk).count();
        Self {
            slowest: slowest(&known),
            levels: [count(Risk::NoEffect), count(Risk::Low), count(Risk::High)],
            worst: all
                .iter()
                .copied()
                .max_by(|a, b| a.component.by_harm(&b.component)),
            ripple,
            risk,
            remedy: (count(Risk::High) > 0)
                .then(|| remedy(design, known.keys().map(|(_, duty)| duty), slow))
                .flatten(),
        }
    }
}

/// Every channel at every level above dark.
fn lit(design: &Design) -> impl Iterator<Item = (usize, Level, Duty)> {
    let channels =
        (0..design.project.channels.len()).filter(|channel| !design.deck.plain[*channel]);
    channels.flat_map(move |channel| {
        let levels = design.scale.levels().skip(1);
        levels.map(move |level| (channel, level, design.deck.duty(channel, level)))
    })
}

/// The components of each duty with the clock this much faster. Channels share most of their duties,
/// so each is taken apart once.
fn by_duty(design: &Design, clock: f64) -> BTreeMap<(bool, Duty), Vec<Component>> {
    let drive = &design.plan.drive;
    let mut known = BTreeMap::new();
    for (channel, _, duty) in lit(design) {
        known.entry(kind(design, channel, duty)).or_insert_with(|| {
            let found = flicker::components(duty, drive.channels()[channel].way, drive);
            found.into_iter().map(|one| one.at_clock(clock)).collect()
        });
    }
    known
}

/// Channels on a timer are apart from those on a port.
fn kind(design: &Design, channel: usize, duty: Duty) -> (bool, Duty) {
    let way = design.plan.drive.channels()[channel].way;
    (matches!(way, Way::Output(_)), duty)
}

fn slowest(known: &BTreeMap<(bool, Duty), Vec<Component>>) -> Option<Hertz> {
    known
        .values()
        .flatten()
        .map(|component| component.frequency)
        .min_by(|a, b| a.0.total_cmp(&b.0))
}

fn ripple(circuit: &Circuit, full: Option<PumpFlow>) -> Option<Component> {
    let (pump, flow) = (circuit.pump?, full?);
    let ripple = pump.ripple(flow.load);
    circuit
        .on_pump()
        .map(|(_, hung)| {
            let headroom = hung.string.headroom(flow.volts);
            flicker::of_ripple(pump.clock, ripple, headroom)
        })
        .max_by(|a, b| a.modulation.0.total_cmp(&b.modulation.0))
}

/// The most depth with which all levels are at low risk.
fn remedy<'a>(
    design: &Design,
    duties: impl Iterator<Item = &'a Duty> + Clone,
    slow: f64,
) -> Option<Hertz> {
    match &design.plan.drive {
        Drive::Timer(timer) => less_dither(timer, duties, slow),
        Drive::Port(port) => fewer_planes(design, port.planes, duties, slow),
        Drive::Mixed(mixed) => fewer_planes(design, mixed.planes, duties, slow),
    }
}

fn fewer_planes<'a>(
    design: &Design,
    planes: Planes,
    duties: impl Iterator<Item = &'a Duty> + Clone,
    slow: f64,
) -> Option<Hertz> {
    let mut fewer = planes.and_shallower().skip(1);
    fewer.find_map(|planes| {
        let frequency = Hertz(design.plan.clock.frequency.0 / f64::from(planes.frame().0));
        let passes = duties.clone().all(|duty| {
            let found = flicker::of_pulses(&planes.shown(*duty), frequency);
            let mut risks = found
                .iter()
                .map(|component| component.at_clock(slow).risk());
            risks.all(|risk| risk <= Risk::Low)
        });
        passes.then_some(Hertz(frequency.0.floor()))
    })
}

fn less_dither<'a>(
    timer: &TimerDrive,
    duties: impl Iterator<Item = &'a Duty> + Clone,
    slow: f64,
) -> Option<Hertz> {
    let plan = &timer.common.pwm;
    (0..plan.extra_bits).rev().find_map(|extra_bits| {
        let slowest = Hertz(plan.frequency.0 / f64::from(1_u32 << extra_bits));
        let pwm = PwmPlan {
            extra_bits,
            slowest,
            ..*plan
        };
        let depth = Depth::new(extra_bits);
        let dither = Dither::new(extra_bits);
        let passes = duties.clone().all(|duty| {
            let coarser = depth.quantise(Luminance(duty.luminance().0));
            let found = flicker::dithered(coarser, &pwm, dither);
            found
                .iter()
                .all(|component| component.at_clock(slow).risk() <= Risk::Low)
        });
        passes.then_some(Hertz(slowest.0.floor()))
    })
}
