//! Steady levels: equal steps of lightness, measured at the pins.

use super::knob;
use super::rig::{play_on, tick};
use super::{Finding, Wrong, ensure};
use crate::drive::Way;
use crate::drive::timer::TimerDrive;
use crate::light::cie;
use crate::spec::{Active, Curve};
use crate::units::{Cycles, Lightness, Luminance, Share};
use crate::verify::Outcome;
use crate::verify::bench::{Bench, ChannelPin, Setup, Start};

/// Cycles of all phases over which the light is averaged.
const CYCLES: u32 = 4;
/// The same for frames of planes, which need not begin where it is looked.
const FRAMES: u32 = 64;

pub(super) fn steady(setup: &Setup) -> Finding {
    let design = setup.design;
    let scenes = &design.deck.image.score.scenes;
    let steady: Vec<usize> = (0..scenes.len())
        .filter(|&scene| scenes[scene].steady_level().is_some())
        .collect();
    if steady.is_empty() {
        return Ok(Outcome::NotApplicable("no show is steady"));
    }
    let Some(channel) = (0..design.deck.trims.len())
        .find(|&c| design.deck.trims[c].0.is_none() && !design.deck.plain[c])
    else {
        return Ok(Outcome::NotApplicable(
            "every channel has a trim, or is plain",
        ));
    };
    let scale = &design.scale;
    // What rounding to a level, and packing it, may bring.
    let half_level = scale.levels().skip(2).map(|level| {
        let below = crate::units::Level(level.0 - 1);
        (scale.lightness(level).0 - scale.lightness(below).0) / 2.0
    });
    let allowed = scale
        .allowed()
        .0
        .max(design.deck.light.figures.largest_error.0.0)
        + half_level.fold(0.0, f64::max);
    let mut found = Vec::new();
    let mut error = 0.0_f64;
    for (step, &scene) in steady.iter().enumerate() {
        let share = Share((step + 1) as f64 / steady.len() as f64);
        let ideal = scale.ideal(share);
        let seen = lightness(setup, scene, channel)?;
        error = error.max((seen.0 - ideal.0).abs());
        ensure((seen.0 - ideal.0).abs() <= allowed, || {
            format!(
                "level {} of {} has {seen}, not {ideal}",
                step + 1,
                steady.len()
            )
        })?;
        found.push(seen.0);
    }
    let steps: Vec<f64> = found.windows(2).map(|pair| pair[1] - pair[0]).collect();
    let spread = steps.iter().copied().fold(0.0, f64::max)
        - steps.iter().copied().fold(f64::INFINITY, f64::min);
    let even = design.project.brightness.curve.value == Curve::Lightness;
    ensure(!even || steps.len() < 2 || spread <= 2.0 * allowed, || {
        format!("steps differ by {spread:.2} L*")
    })?;
    Ok(Outcome::Holds(format!(
        "{} levels measured at the pin, L* {:.1} to {:.1}, none more than {error:.2} off",
        found.len(),
        found.first().copied().unwrap_or(0.0),
        found.last().copied().unwrap_or(0.0),
    )))
}

/// The lightness of a channel once a scene has come up, from the time its pin is lit.
fn lightness(setup: &Setup, scene: usize, channel: usize) -> Result<Lightness, Wrong> {
    let design = setup.design;
    let plan = &design.plan;
    let start = Start {
        scene: Some(scene),
        ..Start::default()
    };
    let mut bench = setup.power_up(&start)?;
    let comes_up = design.project.change_fade.value.seconds() / 2.0;
    play_on(
        &mut bench,
        comes_up + 6.0 * tick(design) + knob::comes_up(design),
    )?;
    let output = setup.outputs[channel];
    let way = plan.drive.channels()[channel].way;
    let share = match (way, plan.drive.timer(), plan.drive.planes()) {
        (Way::Output(_), Some(timer), _) => share_of_periods(&mut bench, timer, output)?,
        (_, _, Some((planes, _))) => share_of_frames(&mut bench, planes.frame(), output)?,
        _ => unreachable!("a channel that is dimmed is a timer's or of planes"),
    };
    Ok(cie::lightness(Luminance(share.0.min(1.0))))
}

/// The share of full light over some whole cycles of the dither.
fn share_of_periods(
    bench: &mut Bench,
    drive: &TimerDrive,
    output: ChannelPin,
) -> Result<Share, Wrong> {
    bench.watch_light();
    bench.machine.take_periods();
    let wanted = CYCLES * u32::from(drive.dither.phases());
    let (mut lit, mut periods) = (0_u64, 0);
    while periods < wanted {
        bench.next_tick()?;
        let all = bench.machine.take_periods();
        let own = all.iter().filter(|period| period.pin == output.pin);
        for period in own.take((wanted - periods) as usize) {
            periods += 1;
            lit += u64::from(match output.active {
                Active::High => period.high,
                Active::Low => period.length - period.high,
            });
        }
    }
    let per_count = f64::from(drive.timing.per_count().0);
    let counts = lit as f64 / f64::from(periods) / per_count;
    Ok(Share(counts / 255.0))
}

/// The share of time that a pin is lit for, over many whole frames.
fn share_of_frames(bench: &mut Bench, frame: Cycles, output: ChannelPin) -> Result<Share, Wrong> {
    let (since, high) = (bench.machine.now(), bench.machine.high_cycles(output.pin));
    let span = u64::from(FRAMES * frame.0);
    let run = bench.machine.run_for(span);
    run.map_err(|fault| Wrong::Seen(fault.to_string()))?;
    let elapsed = (bench.machine.now() - since) as f64;
    let high = (bench.machine.high_cycles(output.pin) - high) as f64 / elapsed;
    Ok(Share(match output.active {
        Active::High => high,
        Active::Low => 1.0 - high,
    }))
}
