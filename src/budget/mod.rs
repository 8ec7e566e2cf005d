//! Whether it fits: flash, memory, time, and what the board adds (current, flicker, flashes); each row with where its figure comes from.
//!
//! Works without a compiler. Assembly is counted instruction by instruction; tables are counted
//! byte by byte; only `main.c` is estimated, from above, with a calibration that contributors make
//! anew when its template changes.

mod flash;
mod light;
mod main_c;
mod memory;
mod patterns;
mod ram;
mod report;
mod savings;
mod tick;
mod time;
mod verdict;
mod work;

use crate::board;
use crate::design::Design;
use crate::diagnostic::Diagnostic;
use crate::emit::{self, SourceFile, rust};
use crate::row::{self, Judgement};

pub use crate::assembly::{Listing, Rounds};
pub use flash::Flash;
pub use main_c::{Calibration, Features, Fit, features};
pub use ram::Ram;
pub use report::{Style, report, summary};
pub use savings::Saving;
pub use tick::{Strain, strain};
pub use verdict::Verdict;

/// The budget of a design.
pub fn budget(design: &Design) -> Verdict {
    budget_of(design, &emit::firmware(design))
}

/// As [`budget`], for who has the sources already.
pub fn budget_of(design: &Design, sources: &[SourceFile]) -> Verdict {
    let chip_alone = || {
        let flash = Flash::new(design, sources);
        let ram = Ram::new(design, sources);
        let chip = design.plan.chip;
        let too_large = flash.total() > chip.flash || ram.total() > chip.ram.size;
        let savings = if too_large {
            savings::savings(design, &flash, &ram)
        } else {
            Vec::new()
        };
        let mut rows = memory::rows(design, &flash, &ram, &savings);
        rows.extend(time::rows(design, sources, &flash));
        rows.extend(light::rows(design));
        (flash, ram, savings, rows)
    };
    // The board takes longest, and is begun first.
    let (board, (flash, ram, savings, mut rows)) =
        rayon::join(|| board::report(design), chip_alone);
    rows.extend(board.rows.iter().cloned());
    let worst = rows.iter().map(|row| row.verdict).max();
    Verdict {
        project: design.project.name.value.clone(),
        chip: &design.plan.chip.title,
        drive: light::drive(design),
        pump: light::pump(design),
        verdict: worst.unwrap_or(Judgement::Fits),
        flash,
        ram,
        patterns: patterns::sizes(design),
        savings,
        rows,
        board,
    }
}

/// What can be objected to firmware in Rust before it is compiled. How much flash and RAM it takes,
/// its own build checks.
pub fn objections_to_rust(design: &Design) -> Vec<Diagnostic> {
    let mut rows = time::interrupt(design, rust::interrupt(design)).to_vec();
    rows.push(time::tick_error(design));
    rows.extend(memory::eeprom(design).into_iter().flatten());
    rows.extend(light::rows(design));
    row::objections(&rows)
}
