//! Levels that the chip cannot make as they are wanted: lit ones that come out dark, and ones that
//! come out alike.

use crate::diagnostic::Diagnostic;
use crate::player::Deck;
use crate::score::Op;
use crate::spec::{Brightness, Curve};
use crate::units::{Duty, Level, Share};

use crate::light::{Depth, Scale, Surroundings, pack};

/// Hints name a floor in steps of this…
const FLOOR_STEP: f64 = 0.005;
/// …and look so many of them above the least that the depth can show, since a form may err a little.
const FLOORS: usize = 8;

/// What a person should know of the levels of a project, whose channels have these names, on a chip
/// with or without the `MUL` instruction.
pub(super) fn cautions(
    brightness: &Brightness,
    names: &[&str],
    deck: &Deck,
    around: Surroundings,
) -> Vec<Diagnostic> {
    let doubts = Doubts {
        brightness,
        scale: Scale::new(brightness),
        deck,
        around,
    };
    let dimmed = (0..names.len()).filter(|channel| !deck.plain[*channel]);
    let dark = dimmed.map(|channel| (channel, doubts.dark(channel)));
    let worst = dark.max_by_key(|(channel, dark)| (dark.len(), usize::MAX - channel));
    match worst {
        Some((channel, dark)) if doubts.matters(&dark) => {
            vec![doubts.dark_levels(channel, names[channel], dark.len())]
        }
        _ => doubts.alike().into_iter().collect(),
    }
}

struct Doubts<'a> {
    brightness: &'a Brightness,
    scale: Scale,
    deck: &'a Deck,
    around: Surroundings,
}

impl Doubts<'_> {
    /// The lit levels that are dark on a channel.
    fn dark(&self, channel: usize) -> Vec<Level> {
        let lit = self.scale.levels().skip(1);
        lit.filter(|level| self.deck.duty(channel, *level) == Duty(0))
            .collect()
    }

    /// Whether anyone could see it: not if a fade only begins one level later, within the error allowed.
    fn matters(&self, dark: &[Level]) -> bool {
        match dark {
            [] => false,
            [only] => {
                self.scale.lightness(*only).0 > self.scale.allowed().0 || self.asks_for(*only)
            }
            _ => true,
        }
    }

    /// Whether a pattern goes to this very level.
    fn asks_for(&self, level: Level) -> bool {
        let programs = self.deck.image.score.programs.iter();
        let mut lines = programs.flat_map(|program| &program.lines);
        lines.any(|line| match &line.op {
            Op::Fade { to, .. } | Op::Jump { to, .. } => *to == level,
            Op::Random { level: range, .. } => range.low == level,
            _ => false,
        })
    }

    fn dark_levels(&self, channel: usize, name: &str, count: usize) -> Diagnostic {
        let mut levels = self.scale.levels();
        let first = levels.find(|level| self.deck.duty(channel, *level) > Duty(0));
        let label = match first {
            Some(level) => {
                let up = |share: Share| Share((share.0 * 1e3).ceil() / 1e3);
                let share = up(self.scale.share(level));
                let on_curve = up(self.scale.on_curve(level));
                format!("`{name}` is dark below {share} in a pattern, {on_curve} of the curve")
            }
            None => format!("`{name}` is always dark"),
        };
        let all = self.scale.count() - 1;
        let verb = if count == 1 { "is" } else { "are" };
        let message = format!("{count} of {all} lit levels {verb} dark");
        let slower = "a lower `pwm: {slowest: …}` gives the PWM more depth";
        Diagnostic::caution("C042", self.brightness.floor.span, message)
            .label(label)
            .hint(match self.lighting_floor(channel) {
                Some(floor) => {
                    format!("with `floor: {floor}`, of the curve, all of them are lit; {slower}")
                }
                None => slower.to_string(),
            })
    }

    /// A floor near the least at which no lit level is dark.
    fn lighting_floor(&self, channel: usize) -> Option<Share> {
        let depth = self.deck.light.depth;
        let ceiling = self.brightness.ceiling.value;
        let floors = (1..).map(|steps| Share(f64::from(steps) * FLOOR_STEP));
        floors
            .take_while(|floor| *floor < ceiling)
            .skip_while(|floor| {
                let duty = depth.quantise(self.brightness.curve.value.luminance(*floor));
                depth.cut(self.deck.trims[channel].apply(duty.0)) == Duty(0)
            })
            .take(FLOORS)
            .find(|floor| self.lights_all(channel, *floor))
    }

    fn lights_all(&self, channel: usize, floor: Share) -> bool {
        let depth = self.deck.light.depth;
        let brightness = Brightness {
            floor: self.brightness.floor.map(|_| floor),
            ..self.brightness.clone()
        };
        let scale = Scale::new(&brightness);
        let light = pack(&scale, depth, self.around);
        let trim = self.deck.trims[channel];
        let mut lit = scale.levels().skip(1);
        lit.all(|level| depth.cut(trim.apply(light.raw(level))) > Duty(0))
    }

    /// That levels come out alike. As many as there can be, of the usual curve, is no wish for so many
    /// and no fewer.
    fn alike(&self) -> Option<Diagnostic> {
        let (all, distinct) = (self.scale.count(), self.deck.light.figures.distinct);
        let usual = all == 256 && matches!(self.brightness.curve.value, Curve::Lightness);
        if usual || distinct == all {
            return None;
        }
        let depth = self.deck.light.depth;
        let few = (2..=distinct)
            .rev()
            .find(|count| tells_apart(self.brightness, *count as u16, depth));
        let message = format!("of {all} levels, {distinct} can be told apart");
        let bits = depth.bits();
        let caution = Diagnostic::caution("C042", self.brightness.levels.span, message)
            .label(format!("{bits} bits of PWM are too coarse for the others"))
            .maybe_hint(few.map(|few| format!("`levels: {few}` are all distinct")));
        Some(caution)
    }
}

/// Whether so many levels are all different at a depth, as exact as it can be.
fn tells_apart(brightness: &Brightness, count: u16, depth: Depth) -> bool {
    let fewer = Brightness {
        levels: brightness.levels.map(|_| count),
        ..brightness.clone()
    };
    let scale = Scale::new(&fewer);
    let duties: Vec<Duty> = scale
        .levels()
        .map(|level| depth.quantise(scale.luminance(level)))
        .collect();
    duties.is_sorted_by(|below, above| below < above)
}
