//! What survives a power cut, and how it is laid out in the EEPROM.

use serde::Serialize;

use crate::firmware::Features;
use crate::plan::Plan;
use crate::score::Image;
use crate::spec::Project;
use crate::units::Bytes;

/// The remembered state: in order the place in each show, the show, the generator.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Memory {
    /// Whether there is a show in it.
    pub show: bool,
    /// How many places there are in it: one a show, or none.
    pub places: u8,
    pub generator: bool,
    /// Show and place are not taken up again at power-up, although they are saved along with the
    /// generator: the project wants to start anew.
    pub forgets: bool,
    /// Distance of records in the EEPROM: a power of two above the state and its check byte.
    pub record: Bytes,
    /// Where the records end: a power of two, at most 256.
    pub end: Bytes,
    /// What the check byte starts from. It depends on the scenes, so that a record of another
    /// version of the firmware is not taken for one of this.
    pub check: u8,
}

/// The EEPROM is addressed by one byte.
const MOST: u32 = 256;

impl Memory {
    pub fn new(project: &Project, plan: &Plan, features: &Features, image: &Image) -> Option<Self> {
        let wanted = project.memory.is_some() && features.hops;
        // Without it every power-up would draw the same.
        let generator = features.draws;
        if !wanted && !generator {
            return None;
        }
        let shows = image.score.shows.len();
        let show = shows > 1;
        let places = if features.hops { shows as u8 } else { 0 };
        let state = u32::from(show) + u32::from(places) + if generator { 2 } else { 0 };
        let record = (state + 1).next_power_of_two();
        let size = plan.chip.eeprom.size.0.min(MOST);
        Some(Self {
            show,
            places,
            generator,
            forgets: features.hops && !wanted,
            record: Bytes(record),
            end: Bytes(1 << size.ilog2()),
            check: check(image),
        })
    }

    /// Bytes of state.
    pub fn state(&self) -> Bytes {
        let generator = if self.generator { 2 } else { 0 };
        Bytes(u32::from(self.show) + u32::from(self.places) + generator)
    }

    /// Where in the state the generator is.
    pub fn generator_offset(&self) -> Bytes {
        Bytes(u32::from(self.show) + u32::from(self.places))
    }

    /// How many records take turns.
    pub fn records(&self) -> u32 {
        self.end.0 / self.record.0
    }
}

/// A byte that tells sets of scenes apart: FNV-1a, folded.
fn check(image: &Image) -> u8 {
    let mut hash = 0x811C_9DC5_u32;
    for scene in &image.score.scenes {
        for byte in scene.name.bytes().chain([0]) {
            hash = (hash ^ u32::from(byte)).wrapping_mul(0x0100_0193);
        }
    }
    let folded = hash ^ hash >> 16;
    (folded ^ folded >> 8) as u8
}
