//! Evenings that begin at dusk: as dark as it is around, or for some hours of that.

use serde::Serialize;

use crate::input::room::RoomTicks;
use crate::plan::Tick;
use crate::units::{Bytes, Ticks, Time};

/// From dusk on, as the firmware counts it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Dusk {
    pub room: RoomTicks,
    /// `None`: until it is bright.
    pub on: Option<Ticks>,
}

/// What ticks in the bright are counted in.
const BRIGHT: Bytes = Bytes(2);

impl Dusk {
    pub fn new(room: RoomTicks, on: Option<Time>, tick: &Tick) -> Self {
        let ticks = |time: Time| Ticks((time.seconds() / tick.seconds()).round() as u32);
        Self {
            room,
            on: on.map(ticks),
        }
    }

    /// What the ticks of an evening are counted in.
    pub fn count(&self) -> Bytes {
        Bytes(self.on.map_or(0, |on| if on.0 < 1 << 24 { 3 } else { 4 }))
    }

    /// What it keeps in memory.
    pub fn size(&self) -> Bytes {
        Bytes(self.count().0 + BRIGHT.0)
    }
}
