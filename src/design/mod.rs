//! A project with everything decided: what all outputs, reports and checks start from.

mod doubts;

use std::path::Path;

use crate::budget::strain;
use crate::circuit::{self, Circuit};
use crate::diagnostic::{Diagnostic, Report, Severity};
use crate::firmware::Firmware;
use crate::firmware::before_tables;
use crate::light::{Depth, Scale, pack};
use crate::plan::{Plan, plan_with_tick};
use crate::player::{Deck, Trim};
use crate::score::{Grid, encode, score};
use crate::spec::{self, Project};
use crate::units::{Bytes, Time};

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
    /// For whoever wires it.
    advice: Vec<Diagnostic>,
}

/// So often is a tick made longer for its work, which grows a little with it.
const LONGER_TICKS: usize = 4;

/// Where addresses no longer fit a byte.
const BEYOND_A_BYTE: Bytes = Bytes(256);

impl Design {
    /// Reads the project at `path` and takes it through all stages.
    ///
    /// # Errors
    /// All that is wrong with it, from the first stage that finds anything.
    pub fn read(path: &Path) -> Result<Self, Report> {
        Self::reported(spec::read(path)?, Self::new)
    }

    /// Takes a project through `stages`, with what they find about its files.
    ///
    /// # Errors
    /// A report of what `stages` find wrong.
    pub fn reported(
        project: Project,
        stages: impl FnOnce(Project) -> Result<Self, Vec<Diagnostic>>,
    ) -> Result<Self, Report> {
        let sources = project.sources.clone();
        stages(project).map_err(|errors| Report::of(sources, errors))
    }

    /// What a person should know although it can be built.
    pub fn cautions(&self) -> Report {
        Report::of(self.project.sources.clone(), self.plan.cautions.clone())
    }

    /// What to mind when it is wired.
    pub fn advice(&self) -> Report {
        Report::of(self.project.sources.clone(), self.advice.clone())
    }

    /// Takes a project through all stages up to the bytes of its tables.
    ///
    /// # Errors
    /// What is wrong with it, from the first stage that finds anything.
    pub fn new(project: Project) -> Result<Self, Vec<Diagnostic>> {
        Self::with_tables_after(project, before_tables)
    }

    /// The same for tables and player within a program of the person's own, where the tables may
    /// lie anywhere in flash.
    ///
    /// # Errors
    /// What is wrong with it, from the first stage that finds anything.
    pub fn embedded(project: Project) -> Result<Self, Vec<Diagnostic>> {
        Self::with_tables_after(project, |_| BEYOND_A_BYTE)
    }

    fn with_tables_after(
        project: Project,
        before: impl Fn(&Plan) -> Bytes,
    ) -> Result<Self, Vec<Diagnostic>> {
        let mut design = Self::with_tick_of(project, Time(0), &before)?;
        let mut found = strain(&design);
        for _ in 0..LONGER_TICKS {
            let Some(longer) = found.longer else {
                break;
            };
            let longer = Self::with_tick_of(design.project.clone(), longer, &before);
            let Ok(longer) = longer else { break };
            design = longer;
            found = strain(&design);
        }
        design.firmware.dark_first = found.is_late;
        Ok(design)
    }

    /// With a tick of `least` or more, where the person asks for none.
    fn with_tick_of(
        project: Project,
        least: Time,
        before: &impl Fn(&Plan) -> Bytes,
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
        let image = encode(&score, before(&plan))?;
        let scale = Scale::new(&project.brightness);
        let depth = Depth::new(plan.pwm.extra_bits);
        let has_mul = plan.chip.multiplies();
        let packed = pack(&scale, depth, has_mul);
        let trims = project
            .channels
            .iter()
            .map(|channel| Trim::new(channel.trim.value))
            .collect();
        let firmware = Firmware::new(&project, &plan, &image);
        let deck = Deck {
            image,
            light: packed,
            trims,
        };
        let channels = project.channels.iter();
        let names: Vec<&str> = channels
            .map(|channel| channel.name.value.as_str())
            .collect();
        plan.cautions.extend(doubts::cautions(
            &project.brightness,
            &names,
            &deck,
            has_mul,
        ));
        Ok(Self {
            project,
            plan,
            circuit,
            scale,
            deck,
            firmware,
            grid,
            advice,
        })
    }
}
