//! What the firmware takes of the flash, part by part.

use serde::Serialize;

use super::main_c;
use crate::assembly::Listing;
use crate::design::Design;
use crate::drive::Way;
use crate::emit::SourceFile;
use crate::firmware;
use crate::score::starts_size;
use crate::units::Bytes;

/// What is added to the estimate of `main.c`: one part in so many of the whole, for what the compiler
/// does differently in a project that the calibration did not see.
const MARGIN: u32 = 128;

/// The parts of a firmware in flash. All but [`main`](Self::main) are exact.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Flash {
    /// The vectors and the interrupt, and the start-up.
    pub interrupt: Bytes,
    pub programs: Bytes,
    /// What starts when: scenes and shows.
    pub starts: Bytes,
    /// The numbers of the brightness curve and of trims; its code is the player's.
    pub brightness: Bytes,
    pub player: Bytes,
    /// Set-up, shows, button, memory: estimated.
    pub main: Bytes,
}

impl Flash {
    /// `sources` is what was made of the design.
    pub fn new(design: &Design, sources: &[SourceFile]) -> Self {
        let image = &design.deck.image;
        let shows = &image.score.shows;
        let tables = if shows.len() > 1 { 2 * shows.len() } else { 0 };
        let pins = design.plan.drive.in_tables().0;
        let starts = starts_size(&image.starts, &image.format).0 + tables as u32 + pins;
        let trims = &design.deck.trims;
        let trimmed = trims.iter().any(|trim| trim.0.is_some());
        let channels = design.plan.drive.channels().iter();
        let put_out = channels.filter(|channel| channel.way != Way::Latch).count();
        let trims = if trimmed { 2 * put_out } else { 0 };
        let brightness = design.deck.light.size.data.0 + trims as u32;
        let programs = image.bytes.len() as u32;
        // The tables end at a whole word.
        let padding = (programs + starts + brightness) % 2;
        let mut flash = Self {
            interrupt: Bytes(
                firmware::before_tables(&design.plan).0
                    + firmware::once(&design.plan, &design.firmware).0,
            ),
            programs: Bytes(programs),
            starts: Bytes(starts + padding),
            brightness: Bytes(brightness),
            player: Listing::read(text(sources, "player.S")).size(),
            main: main_c::estimate(design),
        };
        flash.main.0 += flash.total().0 / MARGIN;
        flash
    }

    pub fn total(&self) -> Bytes {
        Bytes(self.parts().iter().map(|(_, bytes)| bytes.0).sum())
    }

    /// What comes from assembly, exactly.
    pub fn assembly(&self) -> Bytes {
        Bytes(self.total().0 - self.main.0)
    }

    /// The parts by name, in the order of their addresses.
    pub fn parts(&self) -> [(&'static str, Bytes); 6] {
        [
            ("vectors, interrupt, start-up", self.interrupt),
            ("patterns", self.programs),
            ("scenes and shows", self.starts),
            ("brightness table", self.brightness),
            ("player", self.player),
            ("set-up, shows, button, memory", self.main),
        ]
    }
}

pub(super) fn text<'a>(sources: &'a [SourceFile], name: &str) -> &'a str {
    let file = sources.iter().find(|file| file.path == name);
    &file.expect("the firmware has this file").text
}
