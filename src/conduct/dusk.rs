//! Evenings that begin at dusk: as dark as it is around, or for some hours of that.

use serde::Serialize;

use crate::input::room::RoomTicks;
use crate::plan::Tick;
use crate::units::{Seconds, Ticks, Time};

/// A day.
pub const DAY: Seconds = Seconds(86_400.0);
/// Of a day it is dark around for so long, over a year and at an equinox.
pub const NIGHT: Seconds = Seconds(DAY.0 / 2.0);

/// From dusk on, as the firmware counts it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Dusk {
    pub room: RoomTicks,
    /// `None`: until it is bright.
    pub on: Option<Ticks>,
}

impl Dusk {
    pub fn new(room: RoomTicks, on: Option<Time>, tick: &Tick) -> Self {
        let ticks = |time: Time| Ticks((time.seconds() / tick.seconds()).round() as u32);
        Self {
            room,
            on: on.map(ticks),
        }
    }

    /// For how long it is lit of a night as long as [`NIGHT`].
    pub fn lit(&self, tick: &Tick) -> Seconds {
        let on = self
            .on
            .map_or(NIGHT.0, |on| f64::from(on.0) * tick.seconds());
        Seconds(on.min(NIGHT.0))
    }
}
