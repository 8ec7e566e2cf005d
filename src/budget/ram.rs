//! What the firmware takes of the memory, part by part.

use serde::Serialize;

use super::flash::text;
use crate::assembly::Listing;
use crate::design::Design;
use crate::emit::SourceFile;
use crate::units::Bytes;

/// The parts of a firmware in memory. All but the [`stack`](Self::stack) are exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Ram {
    /// What each channel's player keeps.
    pub tracks: Bytes,
    /// What the interrupt puts out, where that is not in registers.
    pub lamps: Bytes,
    /// What is playing and what else is to be remembered.
    pub state: Bytes,
    /// Single variables.
    pub variables: Bytes,
    /// The deepest the stack gets: counted in the assembly; for `main.c` a bound.
    pub stack: Bytes,
}

/// A return address.
const CALL: u32 = 2;

impl Ram {
    /// `sources` is what was made of the design.
    pub fn new(design: &Design, sources: &[SourceFile]) -> Self {
        let firmware = &design.firmware;
        let channels = design.plan.drive.channels().len() as u32;
        Self {
            tracks: Bytes(channels * firmware.track.size.0),
            lamps: design.plan.drive.in_memory(),
            state: firmware.state.size(),
            variables: variables(design),
            stack: stack(design, text(sources, "player.S")),
        }
    }

    pub fn total(&self) -> Bytes {
        Bytes(self.parts().iter().map(|(_, bytes)| bytes.0).sum())
    }

    /// All but the stack.
    pub fn fixed(&self) -> Bytes {
        Bytes(self.total().0 - self.stack.0)
    }

    /// The parts by name, lowest address first.
    pub fn parts(&self) -> [(&'static str, Bytes); 5] {
        [
            ("tracks", self.tracks),
            ("lamps", self.lamps),
            ("state", self.state),
            ("variables", self.variables),
            ("stack at its deepest", self.stack),
        ]
    }
}

/// The variables of the parts, and the assembly's.
fn variables(design: &Design) -> Bytes {
    let firmware = &design.firmware;
    Bytes(firmware.variables_in_memory().0 + firmware.in_assembly().0)
}

/// What `main` keeps on the stack when it runs out of registers: seen where records fill 256 bytes,
/// with a tick's fraction, a beat of two bytes, or on a port with brightness by buttons; and elsewhere with both of the
/// first two.
fn spilled(design: &Design) -> u32 {
    let firmware = &design.firmware;
    let fine = design.plan.tick.is_fine();
    let wide_beats = firmware.has_beats() && firmware.beats.is_wide();
    let full = (firmware.memory.as_ref()).is_some_and(|memory| memory.end.0 == 256);
    // A record of the brightness alone leaves registers enough, where little else is done.
    let scenes = firmware.rules.hops() || firmware.features.draws;
    let busy = scenes || firmware.fade.is_some() || firmware.measures();
    let on_a_port = design.plan.drive.planes().is_some();
    match (wide_beats, fine) {
        (true, true) => 4,
        (true, false) if full && scenes => 4,
        (false, true) if full && busy => 3,
        (false, false) if full && on_a_port && scenes && firmware.dimmer.is_some() => 3,
        _ => 0,
    }
}

/// `main` calls the player, or `hop`, which does; where `hop` does little, the compiler puts it into
/// `main`. The interrupt comes when the stack is deepest, and saves nothing.
fn stack(design: &Design, player: &str) -> Bytes {
    let rules = &design.firmware.rules;
    let features = &design.firmware.features;
    let fades = design.firmware.fade.is_some();
    let player = Listing::read(player);
    let tick = CALL + player.stack("light_tick").0;
    let start = CALL + player.stack("scene_start").0;
    let draw = if features.draws {
        CALL + player.stack("draw").0
    } else {
        0
    };
    let apart = fades
        || rules.roams()
        || features.streams
        || rules.plays_once()
        || design.firmware.switch.is_some();
    let hop = match (rules.changes() && apart, fades) {
        (false, _) => 0,
        (true, true) => CALL + draw,
        (true, false) => CALL + start.max(draw),
    };
    // Standby and night share what they begin with.
    let dark = match (rules.stands_by(), design.firmware.has_nights()) {
        (true, true) => 2 * CALL,
        _ => 0,
    };
    Bytes(CALL + spilled(design) + tick.max(start).max(draw).max(hop).max(dark))
}
