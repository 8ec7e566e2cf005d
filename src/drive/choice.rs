//! Which drive, and why.

use super::{mixed, port, timer};
use crate::diagnostic::Notes;
use crate::spec::{Channel, DriveWish, Project, PwmMode};
use crate::target::{Claims, Target};

/// A drive that was chosen.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Choice {
    Timer,
    /// Why it is not the timers.
    Port(String),
    /// Why it is not one of them alone.
    Mixed(String),
}

/// The drive that the project asks for; or else the timers where all channels have an output, as a timer's
/// pulses are the faster. Where they have not, the port, which takes less of the processor than both together;
/// and both where channels are on more ports than an interrupt can write.
pub(super) fn choose(target: Target, project: &Project, claims: &Claims) -> Choice {
    let asked = || "asked for".to_string();
    match project.pwm.drive.value {
        DriveWish::Timer => Choice::Timer,
        DriveWish::Port => Choice::Port(asked()),
        DriveWish::Mixed => Choice::Mixed(asked()),
        DriveWish::Auto => {
            let free = project.pwm.mode.value == PwmMode::Auto;
            let Some(lacking) = free.then(|| lacking(target, project, claims)).flatten() else {
                return Choice::Timer;
            };
            let ports = port::reaches(project, claims) && port::clocks(target, project, claims);
            if !ports && mixes(target, project, claims) {
                return Choice::Mixed(lacking);
            }
            Choice::Port(lacking)
        }
    }
}

/// What timers lack for the channels.
fn lacking(target: Target, project: &Project, claims: &Claims) -> Option<String> {
    if project.channels.iter().all(Channel::is_plain) {
        return Some("no channel is dimmed".to_string());
    }
    let mut notes = Notes::default();
    let mut claims = claims.clone();
    timer::place(target.chip, project, &mut claims, &mut notes);
    let first = notes.into_errors().into_iter().next();
    first.map(|fault| fault.message)
}

/// Whether timers and a port together have a pin for every channel.
fn mixes(target: Target, project: &Project, claims: &Claims) -> bool {
    let mut claims = claims.clone();
    mixed::place(target.chip, project, &mut claims, &mut Notes::default()).is_some()
}
