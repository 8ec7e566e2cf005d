//! Sketches of tracks, drawn by proptest, that become steps once their channels are known.

use duskloom::diagnostic::{Span, Spanned};
use duskloom::spec::{ChannelId, Drawn, Ease, Shape, Step, Target, Times, Wave};
use duskloom::units::{Share, Time};
use proptest::collection::vec;
use proptest::prelude::*;

/// A step for channels that are not known yet.
#[derive(Debug, Clone)]
pub(super) enum Sketch {
    /// Levels for the channels of a mask, and for those of another that are left.
    To(Aims, Span2, Ease),
    Set(Aims),
    Hold(Span2),
    Repeat(u32, Vec<Sketch>),
    Pick(u16, Vec<Sketch>),
    Branch(Vec<Vec<Sketch>>),
    Wave(WaveSketch),
    Rhythm(Vec<u32>, f64, f64),
}

pub(super) type Aims = [(u16, Share2); 2];
/// Percent; two where it is drawn on the chip.
pub(super) type Share2 = (f64, Option<f64>);
/// Units of time; two where it is drawn on the chip.
pub(super) type Span2 = (u32, Option<u32>);

#[derive(Debug, Clone)]
pub(super) struct WaveSketch {
    pub shape: Shape,
    pub period: u32,
    pub low: f64,
    pub high: f64,
    pub spread: f64,
    pub cycles: u32,
}

/// Where a sketch is played.
#[derive(Debug, Clone)]
pub(super) struct Place {
    pub channels: Vec<ChannelId>,
    /// Steps may name some of the channels.
    pub parts: bool,
    /// Steps may draw.
    pub draws: bool,
    /// They may draw levels; on the chip, that leaves no eases, which need to know where they start.
    pub levels: bool,
    /// The draws are made on the chip.
    pub on_chip: bool,
    /// The unit of time, in nanoseconds.
    pub unit: u64,
}

pub(super) fn ease() -> impl Strategy<Value = Ease> {
    prop_oneof![
        3 => Just(Ease::Linear),
        1 => Just(Ease::Soft),
        1 => Just(Ease::SoftIn),
        1 => Just(Ease::SoftOut),
    ]
}

fn percent() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => Just(0.0),
        2 => Just(1.0),
        4 => (0_u32..=100).prop_map(|percent| f64::from(percent) / 100.0),
        2 => 0.0..=1.0_f64,
    ]
}

fn share() -> impl Strategy<Value = Share2> {
    (percent(), proptest::option::weighted(0.3, percent()))
}

/// Mostly short times, now and then a long one.
fn time() -> impl Strategy<Value = u32> {
    prop_oneof![
        6 => 2_u32..60,
        4 => 20_u32..400,
        1 => 400_u32..9000,
    ]
}

fn span() -> impl Strategy<Value = Span2> {
    (time(), proptest::option::weighted(0.3, time()))
}

fn aims() -> impl Strategy<Value = Aims> {
    [(any::<u16>(), share()), (any::<u16>(), share())]
}

fn shape() -> impl Strategy<Value = Shape> {
    prop_oneof![
        Just(Shape::Sine),
        Just(Shape::Triangle),
        Just(Shape::Saw),
        Just(Shape::Square),
    ]
}

pub(super) fn wave() -> impl Strategy<Value = WaveSketch> {
    let spread = prop_oneof![
        Just(0.0),
        Just(0.25),
        (0_u32..100).prop_map(|percent| f64::from(percent) / 100.0),
        0.0..1.0_f64,
    ];
    (
        shape(),
        40_u32..2000,
        percent(),
        percent(),
        spread,
        1_u32..5,
    )
        .prop_map(|(shape, period, a, b, spread, cycles)| WaveSketch {
            shape,
            period,
            low: a.min(b),
            high: a.max(b),
            spread,
            cycles,
        })
}

fn simple() -> impl Strategy<Value = Sketch> {
    let rhythm = (vec(time(), 1..4), percent(), percent()).prop_map(|(times, a, b)| {
        let pairs = times.iter().flat_map(|time| [*time, time + 3]).collect();
        Sketch::Rhythm(pairs, a.max(b), a.min(b))
    });
    prop_oneof![
        5 => (aims(), span(), ease()).prop_map(|(aims, over, ease)| Sketch::To(aims, over, ease)),
        2 => aims().prop_map(Sketch::Set),
        2 => span().prop_map(Sketch::Hold),
        2 => wave().prop_map(Sketch::Wave),
        1 => rhythm,
    ]
}

/// A step, up to three lists deep.
pub(super) fn sketch() -> impl Strategy<Value = Sketch> {
    simple().prop_recursive(3, 12, 4, |inner| {
        let count = prop_oneof![5 => 1_u32..5, 1 => 200_u32..300];
        prop_oneof![
            3 => (count, vec(inner.clone(), 1..4)).prop_map(|(n, steps)| Sketch::Repeat(n, steps)),
            1 => (any::<u16>(), vec(inner.clone(), 1..3)).prop_map(|(m, s)| Sketch::Pick(m, s)),
            1 => vec(vec(inner, 1..3), 2..4).prop_map(Sketch::Branch),
        ]
    })
}

impl Place {
    /// Steps that take time, whatever is drawn.
    pub(super) fn steps(&self, sketches: &[Sketch]) -> Vec<Spanned<Step>> {
        let mut steps: Vec<_> = sketches.iter().flat_map(|one| self.step(one)).collect();
        let takes_time = |step: &Spanned<Step>| !matches!(step.value, Step::Set { .. });
        if !steps.iter().any(takes_time) {
            steps.push(placed(Step::Hold(Drawn::Fixed(self.time(9)))));
        }
        steps
    }

    fn step(&self, sketch: &Sketch) -> Vec<Spanned<Step>> {
        let one = |step| vec![placed(step)];
        match sketch {
            Sketch::To(aims, over, ease) => one(Step::To {
                targets: self.targets(aims),
                over: self.span(*over),
                ease: match over {
                    (_, Some(_)) if self.draws && self.on_chip => Ease::Linear,
                    _ if self.levels && self.on_chip => Ease::Linear,
                    _ => *ease,
                },
            }),
            Sketch::Set(aims) => one(Step::Set {
                targets: self.targets(aims),
            }),
            Sketch::Hold(time) => one(Step::Hold(self.span(*time))),
            Sketch::Repeat(times, steps) => one(Step::Repeat {
                times: Times::Count(*times),
                steps: self.steps(steps),
            }),
            Sketch::Pick(mask, steps) => {
                let channels = self.some(*mask);
                if !self.draws || !self.parts || channels.is_empty() {
                    return self.steps(steps);
                }
                let place = Self {
                    channels: channels.clone(),
                    parts: false,
                    ..self.clone()
                };
                one(Step::Pick {
                    channels,
                    steps: place.steps(steps),
                })
            }
            Sketch::Branch(branches) if self.draws => one(Step::Branch(
                branches.iter().map(|steps| self.steps(steps)).collect(),
            )),
            Sketch::Branch(branches) => self.steps(&branches[0]),
            Sketch::Wave(wave) => one(Step::Wave(self.wave(wave, Times::Count(wave.cycles)))),
            Sketch::Rhythm(times, high, low) => one(Step::Rhythm {
                times: times.iter().map(|time| placed(self.time(*time))).collect(),
                high: Share(*high),
                low: Share(*low),
            }),
        }
    }

    pub(super) fn wave(&self, wave: &WaveSketch, cycles: Times) -> Wave {
        Wave {
            shape: wave.shape,
            period: placed(self.time(wave.period)),
            low: Share(wave.low),
            high: Share(wave.high),
            spread: Share(wave.spread),
            cycles,
        }
    }

    fn targets(&self, aims: &Aims) -> Vec<Target> {
        let target = |channels, level| Target {
            channels,
            level: self.share(level),
            span: Span::default(),
        };
        if !self.parts {
            return vec![target(self.channels.clone(), aims[0].1)];
        }
        let first = self.some(aims[0].0);
        let second = self.some(aims[1].0).into_iter();
        let second: Vec<_> = second.filter(|channel| !first.contains(channel)).collect();
        let both = [(first, aims[0].1), (second, aims[1].1)];
        let named = both
            .into_iter()
            .filter(|(channels, _)| !channels.is_empty());
        let targets: Vec<_> = named
            .map(|(channels, level)| target(channels, level))
            .collect();
        if targets.is_empty() {
            vec![target(self.channels.clone(), aims[0].1)]
        } else {
            targets
        }
    }

    /// The channels of a mask.
    fn some(&self, mask: u16) -> Vec<ChannelId> {
        let all = self.channels.iter().enumerate();
        all.filter(|(i, _)| mask >> i & 1 == 1)
            .map(|(_, channel)| *channel)
            .collect()
    }

    fn share(&self, (fixed, other): Share2) -> Drawn<Share> {
        match other {
            Some(other) if self.draws && self.levels => {
                Drawn::Between(Share(fixed.min(other)), Share(fixed.max(other)))
            }
            _ => Drawn::Fixed(Share(fixed)),
        }
    }

    fn span(&self, (fixed, other): Span2) -> Drawn<Time> {
        match other {
            Some(other) if self.draws => {
                Drawn::Between(self.time(fixed.min(other)), self.time(fixed.max(other)))
            }
            _ => Drawn::Fixed(self.time(fixed)),
        }
    }

    pub(super) fn time(&self, units: u32) -> Time {
        Time(u64::from(units) * self.unit)
    }
}

pub(super) fn placed<T>(value: T) -> Spanned<T> {
    Spanned::new(value, Span::default())
}
