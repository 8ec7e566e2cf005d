//! A project with everything decided: what all outputs, reports and checks start from.

mod doubts;
mod standby;

use crate::circuit::{self, Circuit};
use crate::diagnostic::{Diagnostic, Report, Severity};
use crate::firmware::{Firmware, Works, room_for_track};
use crate::light::{Depth, Scale, Surroundings, pack};
use crate::plan::{Plan, plan_with_tick};
use crate::player::{Deck, Trim};
use crate::score::{Grid, encode, score};
use crate::spec::{Channel, Project};
use crate::units::{Bytes, DeltaLightness, Hertz, Time};

/// A project, planned, lowered and packed.
#[derive(Debug, Clone)]
pub struct Design {
    pub project: Project,
    pub plan: Plan,
    /// What hangs on the chip.
    pub circuit: Circuit,
    pub scale: Scale,
    /// What the player plays.
    pub deck: Deck,
    pub firmware: Firmware,
    pub grid: Grid,
    /// `None`: its PWM is the one asked for, or the drive's own choice.
    pub slowed: Option<Slowed>,
    /// For whoever wires it.
    advice: Vec<Diagnostic>,
}

/// A PWM that is slower than it could be, for the light at the LEDs.
#[derive(Debug, Clone)]
pub struct Slowed {
    /// The design with the fastest.
    pub fastest: Box<Design>,
    /// How far the worst level of all LEDs would then be off.
    pub error: DeltaLightness,
}

impl Slowed {
    /// What the PWM could be.
    pub fn from(&self) -> Hertz {
        self.fastest.plan.drive.pwm().frequency
    }
}

impl Design {
    /// What a person should know although it can be built.
    pub fn cautions(&self) -> Report {
        Report::of(self.project.sources.clone(), self.plan.cautions.clone())
    }

    /// What to mind when it is wired.
    pub fn advice(&self) -> Report {
        Report::of(self.project.sources.clone(), self.advice.clone())
    }

    /// The same with the fastest PWM, if the one in use is slower for the LEDs' sake.
    pub fn fastest(&self) -> &Self {
        self.slowed.as_ref().map_or(self, |slowed| &slowed.fastest)
    }

    /// Among what its brightness curve is decoded.
    pub fn surroundings(&self) -> Surroundings {
        surroundings(&self.plan, &self.firmware, &self.deck.trims)
    }

    /// What a light of this design does from power-up on.
    pub fn works(&self) -> Works<'_> {
        Works {
            deck: &self.deck,
            firmware: &self.firmware,
        }
    }

    /// Takes a project through all stages up to the bytes of its tables, which lie in flash after so
    /// many others; with a tick of `least` or more, where the person asks for none. Whether its work
    /// fits that tick, nobody has looked at: [`Design::new`] does.
    ///
    /// # Errors
    /// What is wrong with it, from the first stage that finds anything.
    pub fn with_tick_of(
        project: Project,
        least: Time,
        before: impl Fn(&Plan) -> Bytes,
    ) -> Result<Self, Vec<Diagnostic>> {
        let mut plan = plan_with_tick(&project, least)?;
        let (circuit, faults) = circuit::check(&project, &plan);
        let (errors, cautions): (Vec<_>, Vec<_>) = faults
            .into_iter()
            .partition(|fault| fault.severity == Severity::Error);
        if !errors.is_empty() {
            return Err(errors);
        }
        plan.cautions.splice(0..0, project.cautions.iter().cloned());
        plan.cautions.extend(cautions);
        let advice = circuit::advice(&project, &plan, &circuit);
        let grid = Grid::new(plan.tick.ideal_seconds(), plan.tick.whole_ticks);
        let score = score(&project, grid)?;
        plan.cautions.extend(score.cautions.iter().cloned());
        let image = encode(&score, before(&plan), room_for_track(&plan))?;
        let scale = Scale::new(&project.brightness);
        let depth = Depth::new(plan.drive.pwm().extra_bits);
        let trims: Vec<Trim> = project
            .channels
            .iter()
            .map(|channel| Trim::new(channel.trim.value))
            .collect();
        let firmware = Firmware::new(&project, &plan, &image);
        if let Some(fault) = standby::fault(&project, &plan, &firmware) {
            return Err(vec![fault]);
        }
        let around = surroundings(&plan, &firmware, &trims);
        let packed = pack(&scale, depth, around);
        let deck = Deck {
            image,
            light: packed,
            trims,
            plain: project.channels.iter().map(Channel::is_plain).collect(),
        };
        let channels = project.channels.iter();
        let names: Vec<&str> = channels
            .map(|channel| channel.name.value.as_str())
            .collect();
        plan.cautions
            .extend(doubts::cautions(&project.brightness, &names, &deck, around));
        Ok(Self {
            project,
            plan,
            circuit,
            scale,
            deck,
            firmware,
            grid,
            slowed: None,
            advice,
        })
    }
}

/// Among what the brightness curve is decoded.
fn surroundings(plan: &Plan, firmware: &Firmware, trims: &[Trim]) -> Surroundings {
    let trimmed = trims.iter().any(|trim| trim.0.is_some());
    Surroundings {
        has_mul: plan.chip.multiplies(),
        product: firmware.features.draws || firmware.dims() || trimmed,
        trims: trimmed,
    }
}
