//! A tick in which the work fits.

use crate::budget::strain;
use crate::design::Design;
use crate::diagnostic::Diagnostic;
use crate::plan::Plan;
use crate::spec::Project;
use crate::units::{Bytes, Time};

/// So often is a tick made longer for its work, which grows a little with it.
const LONGER_TICKS: usize = 4;

pub(super) fn with_room(
    project: Project,
    before: &impl Fn(&Plan) -> Bytes,
) -> Result<Design, Vec<Diagnostic>> {
    let mut design = Design::with_tick_of(project, Time(0), before)?;
    let mut found = strain(&design);
    for _ in 0..LONGER_TICKS {
        let Some(longer) = found.longer else {
            break;
        };
        let longer = Design::with_tick_of(design.project.clone(), longer, before);
        let Ok(longer) = longer else { break };
        design = longer;
        found = strain(&design);
    }
    design.firmware.dark_first = found.is_late;
    Ok(design)
}
