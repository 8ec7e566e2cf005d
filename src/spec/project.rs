//! The light project as data: names resolved, defaults filled in, every value with its place.
//!
//! This is what `spec` returns and every later stage starts from. Nothing here knows YAML.

use crate::diagnostic::{Diagnostic, Sources, Span, Spanned};
use crate::units::{Hertz, Share, Time, Volts};

pub use super::channel::*;
pub use super::electrics::*;
pub use super::inputs::*;
pub use super::transistor::*;

/// A validated light project.
#[derive(Debug, Clone)]
pub struct Project {
    /// The files it was read from, for quoting.
    pub sources: Sources,
    /// Lower case letters, digits and hyphens; names the output folder.
    pub name: Spanned<String>,
    /// As written, lower case; `chip` knows whether it exists.
    pub chip: Spanned<String>,
    /// As written; `None`: the chip's first.
    pub package: Option<Spanned<String>>,
    /// `None`: the chip's default clock.
    pub clock: Option<Spanned<Clock>>,
    /// In the order written, which is the order of everything generated. 1 to 12.
    pub channels: Vec<Channel>,
    pub brightness: Brightness,
    pub pwm: Pwm,
    /// The length of a tick, when the person wants a certain one.
    pub tick: Option<Spanned<Time>>,
    /// The patterns that shows name: the project's own as written, then those of libraries. At
    /// most 64; empty only when every show is steady.
    pub patterns: Vec<Pattern>,
    /// In order of the button's holds. At least one.
    pub shows: Vec<Spanned<Show>>,
    /// Time to dim out the old pattern and bring up the new one (half each); zero: none.
    pub change_fade: Spanned<Time>,
    pub button: Option<Button>,
    /// In the order written, at most [`CONTACTS`].
    pub contacts: Vec<Contact>,
    pub selector: Option<Selector>,
    pub knob: Option<Knob>,
    /// `None`: it does not matter how bright it is around.
    pub sensor: Option<Sensor>,
    /// What is played once when power comes.
    pub start: Option<Once>,
    /// `None`: it is never off while it has power.
    pub standby: Option<Spanned<Standby>>,
    /// `None`: it is on as long as it has power, or until it is put off.
    pub evening: Option<Spanned<Evening>>,
    /// `None`: nothing is remembered over a power cut.
    pub memory: Option<Spanned<Memory>>,
    pub charge_pump: Option<ChargePump>,
    /// What hangs on the chip and feeds it.
    pub electrics: Electrics,
    /// `None`: the battery is not spared.
    pub guard: Option<Guard>,
    /// Of patterns that say nothing of it themselves.
    pub flashing: Flashing,
    /// The level of the brown-out detector, or that it is off. `None`: what suits the clock.
    pub brown_out: Option<Spanned<Option<Volts>>>,
    /// `None`: no watchdog.
    pub watchdog: Option<Spanned<Time>>,
    /// What the person should know although all of it is sound.
    pub cautions: Vec<Diagnostic>,
}

impl Project {
    /// A pattern.
    ///
    /// # Panics
    /// If there is no such pattern.
    pub fn pattern(&self, id: PatternId) -> &Pattern {
        &self.patterns[usize::from(id.0)]
    }

    /// All patterns, in the order of the project.
    pub fn pattern_ids(&self) -> impl Iterator<Item = PatternId> + use<> {
        (0..self.patterns.len() as u8).map(PatternId)
    }

    /// The pattern of this name.
    pub fn pattern_named(&self, name: &str) -> Option<PatternId> {
        self.pattern_ids()
            .find(|id| self.pattern(*id).name.value == name)
    }

    /// Whether it is dark for a part of each day: by the hour, or as it is bright around.
    pub fn has_nights(&self) -> bool {
        self.evening.is_some() || self.sensor.is_some()
    }

    /// An evening that a sensor of light does not end: a day is as long as it says.
    pub fn timed_evening(&self) -> Option<Spanned<Evening>> {
        self.evening.filter(|_| self.sensor.is_none())
    }

    /// What to do when a pattern flashes; steady levels and unknown names are as the project says.
    pub fn flashing_of(&self, name: &str) -> Flashing {
        let pattern = self.pattern_named(name);
        let own = pattern.and_then(|id| self.pattern(id).flashing);
        own.unwrap_or(self.flashing)
    }
}

/// What to do about light that flashes more than three times in a second.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Flashing {
    Refused,
    Accepted,
}

/// The processor's clock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clock {
    pub frequency: Hertz,
    pub source: ClockSource,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ClockSource {
    /// The chip's own RC oscillator.
    Internal,
    /// A crystal or resonator on the two crystal pins.
    Crystal,
    /// A clock signal fed into the clock pin.
    External,
}

/// Index of a pattern in [`Project::patterns`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PatternId(pub u8);

/// How a pattern's percentages become light.
#[derive(Debug, Clone)]
pub struct Brightness {
    pub curve: Spanned<Curve>,
    /// How many levels between dark and the ceiling, both included. 2 to 256.
    pub levels: Spanned<u16>,
    /// The lowest lit level, as a share of the curve. 0: one of equal steps from dark to the ceiling.
    pub floor: Spanned<Share>,
    /// The lightness that 100 % means.
    pub ceiling: Spanned<Share>,
    /// How far a packed level may be from the ideal one, in L*.
    pub error: Spanned<f64>,
    /// How many there are of brightness by buttons, full being the last. 3 to 32.
    pub steps: Spanned<u8>,
    /// From one to the next while such a button is held.
    pub repeat: Spanned<Time>,
}

impl Brightness {
    /// What one of so many [`steps`](Self::steps) takes of full light, of 256, and what all of them do.
    pub fn taken(steps: u8) -> (u8, u8) {
        let steps = u16::from(steps.max(2));
        let step = 256 / steps;
        (step as u8, (step * (steps - 1)) as u8)
    }
}

/// The law from a level (0 to 1 of the scale) to light (relative luminance 0 to 1).
#[derive(Debug, Clone, PartialEq)]
pub enum Curve {
    /// CIE 1976 lightness: equal steps look equal.
    Lightness,
    /// Luminance = level to this power.
    Power(f64),
    /// The logarithmic dimming curve of IEC 62386-102: 0.1 % to 100 %.
    Logarithmic,
    Square,
    Linear,
    /// Measured by the person: (level, luminance), rising, from (0, 0) to (1, 1).
    Points(Vec<(Share, Share)>),
}

/// What the person wants of the PWM; the planner says what they get.
#[derive(Debug, Clone)]
pub struct Pwm {
    pub frequency: Option<Spanned<Hertz>>,
    /// No component of the light may be slower than this.
    pub slowest: Spanned<Hertz>,
    pub mode: Spanned<PwmMode>,
    pub drive: Spanned<DriveWish>,
}

/// What brings duties out of pins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum DriveWish {
    /// Whichever suits the channels' pins.
    Auto,
    Timer,
    Port,
    Mixed,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum PwmMode {
    Auto,
    Fast,
    PhaseCorrect,
}

/// A named pattern: tracks that run side by side. No channel is in two of them.
#[derive(Debug, Clone)]
pub struct Pattern {
    pub name: Spanned<String>,
    pub tracks: Vec<Track>,
    /// `None`: as the project says.
    pub flashing: Option<Flashing>,
}

/// A sequence of steps that drives some channels, and starts again when it ends.
#[derive(Debug, Clone)]
pub struct Track {
    pub span: Span,
    /// In stagger order; not empty.
    pub channels: Vec<ChannelId>,
    /// Every channel plays the steps by itself, with draws of its own. With this or a stagger, the
    /// targets within the steps are all channels of the track.
    pub each: bool,
    /// Each channel runs this much behind the one before it, as if it all had been running for ever.
    pub stagger: Spanned<Time>,
    /// How far into the steps the (first) channel starts.
    pub ahead: Spanned<Time>,
    /// Draws made by the compiler instead of the chip.
    pub draw: Option<Spanned<Draw>>,
    /// Not empty, and takes time.
    pub steps: Vec<Spanned<Step>>,
}

/// Compile-time draws: the steps are played `rounds` times with this seed, and that becomes the loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draw {
    pub seed: u64,
    pub rounds: u16,
}

/// A value, or a range to draw from each time the step is played (both ends included).
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Drawn<T> {
    Fixed(T),
    Between(T, T),
}

/// Where a step sends some channels. A drawn level is drawn once for all channels of the target.
#[derive(Debug, Clone)]
pub struct Target {
    pub channels: Vec<ChannelId>,
    pub level: Drawn<Share>,
    pub span: Span,
}

#[derive(Debug, Clone)]
pub enum Step {
    /// Fade; channels of the track that no target names stay as they are.
    To {
        targets: Vec<Target>,
        over: Drawn<Time>,
        ease: Ease,
    },
    /// Jump; takes no time.
    Set {
        targets: Vec<Target>,
    },
    Hold(Drawn<Time>),
    /// Stay as it is for ever; only as the last step of a list.
    Stay,
    Repeat {
        times: Times,
        steps: Vec<Spanned<Step>>,
    },
    /// Draw one of these channels; only it plays the steps, the others of the track wait. Targets
    /// within the steps are all of these channels and mean the one that was drawn.
    Pick {
        channels: Vec<ChannelId>,
        steps: Vec<Spanned<Step>>,
    },
    /// Draw one of the branches and play it.
    Branch(Vec<Vec<Spanned<Step>>>),
    Wave(Wave),
    /// Jump between high and low: on, off, on, off, …
    Rhythm {
        times: Vec<Spanned<Time>>,
        high: Share,
        low: Share,
    },
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Times {
    Count(u32),
    /// Only as the last step of a list, and not within a counted repetition.
    Forever,
}

/// The course of a fade. Linear means linear in lightness.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ease {
    Linear,
    /// Slow at both ends: the smooth step 3x² − 2x³.
    Soft,
    /// Slow at the start: x².
    SoftIn,
    /// Slow at the end: 1 − (1 − x)².
    SoftOut,
}

/// A periodic wave in lightness.
#[derive(Debug, Clone, PartialEq)]
pub struct Wave {
    pub shape: Shape,
    pub period: Spanned<Time>,
    pub low: Share,
    pub high: Share,
    /// Share of a period by which each channel runs behind the one before it.
    pub spread: Share,
    /// Whole periods to play.
    pub cycles: Times,
}

/// One period, from phase 0. Sine and triangle start and end at low, with high half way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Shape {
    Sine,
    Triangle,
    /// Rises from low to high over the period, then drops.
    Saw,
    /// High for the first half, low for the second.
    Square,
}

/// What the light does by itself and what the button does to it. Patterns are in the order in which a
/// tap goes through them.
#[derive(Debug, Clone, PartialEq)]
pub enum Show {
    /// A random other pattern after a random dwell.
    Roam {
        dwell: (Time, Time),
        patterns: Vec<PatternId>,
    },
    /// This many fixed levels, equal steps apart, the last one the ceiling. A tap goes to the next.
    Steady { levels: u8 },
    /// One pattern until told otherwise.
    Solo { patterns: Vec<PatternId> },
}

/// Off by a long hold of the button, on by a tap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standby {
    /// How long a press must last.
    pub hold: Time,
    pub starts: Starts,
}

/// How a light is when power comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Starts {
    Lit,
    /// In standby.
    Dark,
}

/// On for some hours of each day, from power-up or a press; dark for the others. With a sensor of light, a day is
/// from dusk to dusk.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Evening {
    pub on: Time,
    /// From one to the next.
    pub every: Time,
}

/// Show, pattern, level and the brightness that buttons set survive a power cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Memory {
    /// Quiet time before a change is written.
    pub after: Time,
}

/// Two pins that drive a charge pump in opposite phase.
#[derive(Debug, Clone)]
pub struct ChargePump {
    pub pins: [Spanned<String>; 2],
    /// `None`: as fast as it usually is.
    pub clock: Option<Spanned<Hertz>>,
    pub span: Span,
}
