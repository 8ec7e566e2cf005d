//! A pattern as it is played by the model, column by column.

use crate::design::Design;
use crate::light::cie;
use crate::player::{Generator, Player};
use crate::units::{DeltaLightness, Level, Lightness};

use super::Window;
use super::dips::Dips;
use super::steps::{Lines, Steps};

/// What all channels do over a window.
#[derive(Debug, Clone)]
pub struct Strip {
    pub window: Window,
    /// Where the generator started, if the pattern draws from it.
    pub seed: Option<u16>,
    /// By channel.
    pub traces: Vec<Trace>,
}

/// What one channel does.
#[derive(Debug, Clone)]
pub struct Trace {
    pub channel: String,
    pub columns: Vec<Column>,
}

/// What one channel does in a column.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Column {
    /// The brightest moment: a flash shorter than a column is still seen.
    pub lightness: Lightness,
    /// How many steps of the project begin.
    pub begins: u32,
    /// It was darker for a moment, and nothing in the picture shows it.
    pub hides_a_dip: bool,
}

/// Records strips of a project.
pub struct Recorder<'a> {
    design: &'a Design,
    /// The lightness of every level, by channel.
    lights: Vec<Vec<Lightness>>,
    lines: Lines,
    /// A smaller difference cannot be drawn anyway.
    visible: DeltaLightness,
}

impl<'a> Recorder<'a> {
    /// For pictures in which differences from `visible` on can be seen.
    pub fn new(design: &'a Design, visible: DeltaLightness) -> Self {
        Self {
            lights: lights(design),
            lines: Lines::new(&design.deck.image),
            design,
            visible,
        }
    }

    /// Plays a scene on the model, with the generator starting from `seed`.
    pub fn record(&self, scene: usize, window: Window, seed: u16) -> Strip {
        let design = self.design;
        let trace = |channel: &crate::spec::Channel| Trace {
            channel: channel.name.value.clone(),
            columns: vec![Column::default(); window.columns],
        };
        let mut traces: Vec<Trace> = design.project.channels.iter().map(trace).collect();

        let mut player = Player::playing(&design.deck, Generator::new(seed), scene);
        let mut steps = Steps::new(&self.lines, &player);
        let mut dips = vec![Dips::new(self.visible); traces.len()];
        let mut now = 0;
        for at in 0..window.columns {
            let (first, end) = window.ticks(at);
            let mut tick = first;
            while tick < end {
                let arrived = now < tick || (tick == 0 && at == 0);
                while now < tick {
                    let ticks = u64::from(player.still() + 1).min(tick - now);
                    player.advance(ticks);
                    steps.look(&player);
                    now += ticks;
                }
                for (id, (level, began)) in player.levels().zip(steps.began()).enumerate() {
                    let lightness = self.lights[id][usize::from(level.0)];
                    let column = &mut traces[id].columns[at];
                    column.lightness = Lightness(column.lightness.0.max(lightness.0));
                    column.begins += u32::from(arrived && began);
                    dips[id].look(at, lightness);
                }
                // What is still looks the same, however often it is looked at.
                tick += u64::from(player.still()) + 1;
            }
        }
        for (trace, dips) in traces.iter_mut().zip(dips) {
            dips.mark(&mut trace.columns);
        }
        Strip {
            seed: window.random.then_some(seed),
            window,
            traces,
        }
    }
}

/// The lightness of every level, by channel.
pub fn lights(design: &Design) -> Vec<Vec<Lightness>> {
    let channel = |channel| {
        let light = |level: Level| cie::lightness(design.deck.duty(channel, level).luminance());
        design.scale.levels().map(light).collect()
    };
    (0..design.project.channels.len()).map(channel).collect()
}
