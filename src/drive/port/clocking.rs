//! What clocks the charge pump beside a port.

use std::collections::BTreeSet;

use super::pump::{self, Pair, PumpTimer, Unclocked};
use super::slots;
use super::spare::{self, Spare};
use crate::chip::{Pin, Timer};
use crate::diagnostic::Notes;
use crate::drive::PortPlan;
use crate::spec::Project;
use crate::target::{Claims, ClockPlan, Target};

/// A timer that the light leaves free.
pub(super) enum Clocking {
    /// By two outputs, without any work.
    Pair(Pair),
    /// By its interrupt.
    Spare(Spare),
    /// There is no pump, or nothing that clocks it.
    Nothing,
}

impl Clocking {
    /// For the pins that the project names, with the light on these ports.
    pub(super) fn choose(target: Target, claims: &Claims, ports: &[PortPlan]) -> Self {
        let pair = pump::pair(target.chip, claims, &is_left(target));
        let spare = || spare::choose(target, claims, ports, |timer| is_left(target)(timer));
        match pair {
            Some(pair) => Self::Pair(pair),
            None => spare().map_or(Self::Nothing, Self::Spare),
        }
    }

    /// Whether it takes this timer.
    pub(super) fn takes(&self, timer: &Timer) -> bool {
        let number = match self {
            Self::Pair(pair) => Some(pair.timer.number),
            Self::Spare(spare) => Some(spare.number()),
            Self::Nothing => None,
        };
        number == Some(timer.number)
    }

    /// `None` without a pump, or after adding an error; `why` there is a port.
    pub(super) fn plan(
        &self,
        target: Target,
        project: &Project,
        (claims, ports, why): (&Claims, &[PortPlan], &str),
        clock: &ClockPlan,
        notes: &mut Notes,
    ) -> Option<PumpTimer> {
        let asked = project.charge_pump.as_ref()?;
        match self {
            Self::Pair(pair) => Some(pair.plan(target, project, asked, clock, notes)),
            Self::Spare(spare) => Some(spare.plan(target, asked, clock, notes)),
            Self::Nothing => {
                let others = target.chip.ports.keys().copied();
                let others = others.filter(|port| ports.iter().all(|own| own.letter != *port));
                let unclocked = Unclocked {
                    chip: target.chip,
                    claims,
                    free: &is_left(target),
                    ports: match spare::timer(target, ports, |timer| is_left(target)(timer)) {
                        Some(_) => others.collect(),
                        None => Vec::new(),
                    },
                    why,
                    otherwise: beside_timers(target),
                };
                unclocked.say(asked, notes);
                None
            }
        }
    }
}

/// Whether there is another timer for the slots than this one.
fn is_left(target: Target) -> impl Fn(&Timer) -> bool {
    move |timer| slots::choose(target.chip, |other| other.number != timer.number).is_some()
}

/// The interrupt of timers that are beside the port would clock it.
fn beside_timers(target: Target) -> String {
    let outputs = target.chip.outputs().map(|(_, output)| output.pin);
    let pins: BTreeSet<Pin> = outputs.collect();
    format!(
        "with a channel on a PWM pin ({}) the light's interrupt clocks it",
        pump::listed(&pins)
    )
}
