//! Evenings that begin at dusk: as dark as it is around, or for some hours of that.

use serde::Serialize;

use crate::input::room::RoomTicks;
use crate::plan::Tick;
use crate::units::{Ticks, Time};

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
}
