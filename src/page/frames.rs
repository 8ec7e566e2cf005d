//! What the model shows, tick by tick, for as long as tells what a pattern is like.

use crate::board::{Duties, Party, Shine, Take};
use crate::design::Design;
use crate::player::{Generator, Player};
use crate::preview::Round;
use crate::score::ShowKind;
use crate::spec::PatternId;
use crate::units::{Level, Luminance};

/// A pattern as it was played.
#[derive(Debug, Clone)]
pub struct Frames {
    /// By channel, tick by tick.
    pub channels: Vec<Vec<Level>>,
    /// The tick with which it goes on after the last one.
    pub again: usize,
    /// Something in it is drawn by the chip: this is one course of many.
    pub random: bool,
    /// How long a round is, and what was recorded.
    pub facts: String,
}

/// In seconds: of what comes round, at least this is recorded, in whole rounds; of what is drawn, at
/// least so much; and never more than so much.
const SHORTEST: f64 = 10.0;
const RANDOM: f64 = 60.0;
const LONGEST: f64 = 1800.0;
/// So much more of a loop tells how often it flashes in a second, at four times the speed.
const BEYOND: f64 = 8.0;

/// Plays a pattern on the model, from the state of a new chip.
pub fn record(design: &Design, pattern: PatternId, scene: usize) -> Frames {
    let round = Round::of(design.project.pattern(pattern));
    let random = design.deck.image.score.draws(scene);
    let tick = design.grid.tick_seconds();
    let length = round.length.seconds().max(tick);
    let least = if random { RANDOM } else { SHORTEST };
    let rounds = (least / length).ceil().max(1.0);
    let lead = round.lead.seconds();
    let whole = lead + rounds * length;
    let comes_round = round.exact && !random && whole <= LONGEST;
    let ticks = ((whole.min(LONGEST) / tick).round() as usize).max(1);

    let first = Generator::new(Generator::FIRST);
    let mut player = Player::playing(&design.deck, first, scene);
    let mut channels = vec![Vec::with_capacity(ticks); design.project.channels.len()];
    for tick in 0..ticks {
        if tick > 0 {
            player.step();
        }
        for (levels, level) in channels.iter_mut().zip(player.levels()) {
            levels.push(level);
        }
    }
    let again = if comes_round {
        ((lead / tick).round() as usize).min(ticks - 1)
    } else {
        0
    };
    let about = if round.exact { "" } else { "about " };
    let seconds = (ticks as f64 * tick).round();
    let course = match (random, comes_round) {
        (true, _) => format!(", drawn by the chip; this is one course of {seconds} s"),
        (false, true) => String::new(),
        (false, false) => format!("; its first {seconds} s"),
    };
    Frames {
        channels,
        again,
        random,
        facts: if round.stays() && round.lead.0 > 0 {
            format!("stays after {}", round.lead)
        } else if round.stays() {
            "stays".to_string()
        } else {
            format!("a round of {about}{}{course}", round.length)
        },
    }
}

/// For how long a level that stays is recorded, in seconds.
const STEADY: f64 = 2.0;

/// The levels of steady shows, as the scenes have them, each with its name.
pub(super) fn steady(design: &Design) -> Vec<(String, Frames)> {
    let score = &design.deck.image.score;
    let ticks = (STEADY / design.grid.tick_seconds()).ceil() as usize;
    let shows = score
        .shows
        .iter()
        .filter(|show| show.kind == ShowKind::Steady);
    let scenes = shows.flat_map(|show| show.scenes().map(move |scene| (scene, show)));
    let recorded = scenes.map(|(scene, show)| {
        let first = Generator::new(Generator::FIRST);
        let mut player = Player::playing(&design.deck, first, scene);
        player.step();
        let place = scene - usize::from(show.first) + 1;
        let level = score.scenes[scene].steady_level().unwrap_or_default();
        let frames = Frames {
            channels: player.levels().map(|level| vec![level; ticks]).collect(),
            again: 0,
            random: false,
            facts: format!("stays, {}", design.scale.lightness(level)),
        };
        (format!("steady {place} of {}", show.count), frames)
    });
    recorded.collect()
}

impl Frames {
    /// A recording of the board's, and where it goes round, some seconds more: a short loop is as
    /// many flashes as fit.
    pub fn of(design: &Design, take: &Take) -> Self {
        let more = match take.loops() {
            true => (BEYOND / design.grid.tick_seconds()).ceil() as usize,
            false => 0,
        };
        let ticks = take.ticks() + more;
        let levels = |channel: usize| {
            take.stretches_from(0, ticks).flat_map(move |stretch| {
                std::iter::repeat_n(stretch.levels[channel], stretch.ticks)
            })
        };
        Self {
            channels: (0..design.project.channels.len())
                .map(|channel| levels(channel).collect())
                .collect(),
            again: take.loop_start,
            random: false,
            facts: String::new(),
        }
    }

    pub fn ticks(&self) -> usize {
        self.channels.first().map_or(0, Vec::len)
    }

    /// The light of each party that the board judges, tick by tick.
    pub fn parties(&self, design: &Design) -> Vec<Vec<Luminance>> {
        let shine = Shine::new(&Duties::new(design), design.scale.top());
        let mut levels = vec![Level(0); self.channels.len()];
        let parties = Party::all(&design.project);
        let mut lights = vec![Vec::with_capacity(self.ticks()); parties.len()];
        for tick in 0..self.ticks() {
            for (level, channel) in levels.iter_mut().zip(&self.channels) {
                *level = channel[tick];
            }
            for (light, party) in lights.iter_mut().zip(&parties) {
                light.push(party.light(|channel| shine.of_one(channel, levels[channel])));
            }
        }
        lights
    }

    /// The light of each channel, of what it gives at most, tick by tick.
    pub fn lights(&self, design: &Design) -> Vec<Vec<Luminance>> {
        let channels = self.channels.iter().enumerate();
        channels
            .map(|(channel, levels)| {
                let light = |level: Level| design.deck.duty(channel, level).luminance().0;
                let full = light(design.scale.top()).max(f64::MIN_POSITIVE);
                let table: Vec<Luminance> = design
                    .scale
                    .levels()
                    .map(|level| Luminance(light(level) / full))
                    .collect();
                levels
                    .iter()
                    .map(|level| table[usize::from(level.0)])
                    .collect()
            })
            .collect()
    }
}

/// The light of all channels together, of what they give at most, tick by tick. Strings count alike.
pub fn summed(lights: &[Vec<Luminance>]) -> Vec<Luminance> {
    let count = lights.len().max(1) as f64;
    let ticks = lights.first().map_or(0, Vec::len);
    let sum = |tick: usize| lights.iter().map(|light| light[tick].0).sum::<f64>();
    (0..ticks)
        .map(|tick| Luminance(sum(tick) / count))
        .collect()
}
