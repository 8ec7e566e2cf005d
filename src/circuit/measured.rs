//! What is measured draws a current, light or dark: the potentiometer of a knob, the divider of a sensor.

use crate::input::room::Divider;
use crate::spec::Project;
use crate::units::{Amps, Ohms, Volts};

/// Its track: usual ones (common practice, no source). On cells the larger, as its current never stops.
const USUAL: Ohms = Ohms(10e3);
const ON_CELLS: Ohms = Ohms(100e3);

/// What the track of a knob should be.
pub fn knob_track(project: &Project) -> Ohms {
    match project.electrics.battery {
        Some(_) => ON_CELLS,
        None => USUAL,
    }
}

/// What knob and sensor draw, light or dark: the sensor at most, in the bright.
pub fn measured_current(project: &Project, volts: Volts) -> Amps {
    let track = knob_track(project);
    let knob = project.knob.as_ref().map_or(0.0, |_| volts.0 / track.0);
    let sensor = project.sensor.as_ref();
    let sensor = sensor.map_or(0.0, |sensor| volts.0 / Divider::new(sensor).upper.0);
    Amps(knob + sensor)
}
