//! Which drive, and why.

use super::port::has_timer;
use super::timer;
use crate::diagnostic::Notes;
use crate::spec::{DriveWish, Project, PwmMode};
use crate::target::{Claims, Target};

/// A drive that was chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Choice {
    Timer,
    /// Why it is not the timers.
    Port(String),
}

/// The drive that the project asks for; or else the timers where all channels have an output, as a timer's
/// pulses are the faster. A charge pump is clocked by their interrupt, which comes evenly.
pub(super) fn choose(target: Target, project: &Project, claims: &Claims) -> Choice {
    match project.pwm.drive.value {
        DriveWish::Timer => Choice::Timer,
        DriveWish::Port => Choice::Port("asked for".to_string()),
        DriveWish::Auto => {
            let free = project.pwm.mode.value == PwmMode::Auto && project.charge_pump.is_none();
            let free = free && project.standby.is_none();
            let can = free && has_timer(target.chip);
            let lacking = can.then(|| lacking(target, project, claims)).flatten();
            lacking.map_or(Choice::Timer, Choice::Port)
        }
    }
}

/// What timers lack for the channels.
fn lacking(target: Target, project: &Project, claims: &Claims) -> Option<String> {
    let mut notes = Notes::default();
    let mut claims = claims.clone();
    timer::place(target.chip, project, &mut claims, &mut notes);
    let first = notes.into_errors().into_iter().next();
    first.map(|fault| fault.message)
}
