//! Whole projects drawn at random, as the YAML a person could have written. Between them they use
//! every feature, on every kind of core. The same seed gives the same project, always.

#![allow(dead_code)] // Each test binary uses some of it.

use std::fmt::Write;
use std::path::Path;

use duskloom::chip::{self, Chip, Core, Pin};
use duskloom::design::Design;
use duskloom::spec::{self, ButtonTo};
use duskloom::target::Target;
use rand::seq::IndexedRandom;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Chips that differ in what the firmware sees of them.
const CHIPS: [(Core, &[&str]); 3] = [
    (
        Core::Avr25,
        &[
            "attiny13a",
            "attiny24a",
            "attiny84a",
            "attiny25",
            "attiny85",
            "attiny2313",
            "attiny2313a",
            "attiny4313",
            "attiny261a",
            "attiny861a",
        ],
    ),
    (
        Core::Avr4,
        &[
            "atmega8",
            "atmega48",
            "atmega48pa",
            "atmega88",
            "atmega88pa",
        ],
    ),
    (
        Core::Avr5,
        &["atmega168", "atmega168pa", "atmega328p", "atmega32u4"],
    ),
];

/// More than this would not fit the smaller chips' linker scripts.
const MOST_BYTES: usize = 3000;

/// The first `count` projects for chips of this core, from `seed` on, that can be built: the drawing
/// knows the grammar, not every limit of every chip.
pub(crate) fn designs(core: Core, seed: u64, count: usize) -> Vec<(u64, String, Design)> {
    (seed..)
        .filter_map(|seed| {
            let text = project(core, seed);
            Some((seed, text.clone(), design(&text)?))
        })
        .take(count)
        .collect()
}

/// `None`: it cannot be built as written, or is very large.
pub(crate) fn design(text: &str) -> Option<Design> {
    let bytes = text.as_bytes().to_vec();
    let project = spec::read_with(Path::new("drawn.yaml"), &|_| Ok(bytes.clone())).ok()?;
    let design = Design::new(project).ok()?;
    (design.deck.image.bytes.len() < MOST_BYTES).then_some(design)
}

/// A project for a chip of this core.
pub(crate) fn project(core: Core, seed: u64) -> String {
    let (_, chips) = CHIPS
        .iter()
        .find(|(of, _)| *of == core)
        .expect("all cores are listed");
    let mut dice = Dice(ChaCha8Rng::seed_from_u64(seed));
    let chip = chip::find(dice.one_of(chips)).expect("the chips above exist");
    let mut draft = Draft::new(chip, seed, &mut dice);
    draft.settings(&mut dice);
    draft.patterns(&mut dice);
    draft.shows(&mut dice);
    // What came later has dice of its own, so that the rest stays as it was drawn.
    draft.standby(&mut Dice(ChaCha8Rng::seed_from_u64(!seed)));
    draft.once(&mut Dice(ChaCha8Rng::seed_from_u64(seed ^ 0xA5A5)));
    draft.switch(&mut Dice(ChaCha8Rng::seed_from_u64(seed ^ 0x5A5A)));
    draft.evening(&mut Dice(ChaCha8Rng::seed_from_u64(seed.rotate_left(32))));
    draft.measured(&mut Dice(ChaCha8Rng::seed_from_u64(seed ^ 0x0F0F)));
    draft.further(&mut Dice(ChaCha8Rng::seed_from_u64(seed ^ 0xF0F0)));
    draft.guard(&mut Dice(ChaCha8Rng::seed_from_u64(seed ^ 0xA5A5)));
    draft.text
}

struct Dice(ChaCha8Rng);

impl Dice {
    fn one_of<T: Copy>(&mut self, choices: &[T]) -> T {
        *choices.choose(&mut self.0).expect("a choice")
    }

    fn chance(&mut self, percent: u32) -> bool {
        self.0.random_range(0..100) < percent
    }

    fn from(&mut self, range: std::ops::RangeInclusive<u32>) -> u32 {
        self.0.random_range(range)
    }

    /// A time, usually a round one.
    fn time(&mut self) -> String {
        let ms = match self.from(0..=3) {
            0 => self.one_of(&[250, 500, 1000, 2000]),
            1 => 50 * self.from(1..=60),
            2 => 10 * self.from(2..=300),
            _ => self.one_of(&[400, 800, 1200, 3000, 12_000, 40_000]),
        };
        format!("{ms} ms")
    }

    fn time_or_range(&mut self, range: bool) -> String {
        if range {
            let low = 20 * self.from(1..=20);
            format!("{low} ms .. {} ms", low + 20 * self.from(1..=60))
        } else {
            self.time()
        }
    }

    fn level(&mut self, range: bool) -> String {
        if range {
            let low = self.from(0..=60);
            format!("{low} % .. {} %", low + self.from(1..=40))
        } else {
            let percent = match self.from(0..=2) {
                0 => 0,
                1 => 100,
                _ => self.from(0..=100),
            };
            format!("{percent} %")
        }
    }

    fn ease(&mut self) -> &'static str {
        self.one_of(&[
            "",
            "",
            "",
            ", ease: soft",
            ", ease: soft-in",
            ", ease: soft-out",
        ])
    }
}

struct Draft {
    chip: &'static Chip,
    channels: usize,
    text: String,
    /// Pins for other things than light.
    spare: Vec<Pin>,
    button: Option<Pin>,
    /// Names of the patterns.
    names: Vec<String>,
    on_a_port: bool,
    /// A channel that has this pin, which no timer reaches, beside others that are on timers.
    mixed: Option<Pin>,
    /// A channel more, which is only switched.
    plain: bool,
}

impl Draft {
    fn new(chip: &'static Chip, seed: u64, dice: &mut Dice) -> Self {
        let mut outputs: Vec<Pin> = chip.outputs().map(|(_, output)| output.pin).collect();
        outputs.sort_unstable();
        outputs.dedup();
        let most = outputs.len().min(8);
        let channels = dice.from(1..=most as u32) as usize;
        let mut spare: Vec<Pin> = chip
            .pins()
            .filter(|pin| !outputs.contains(pin) && chip.reset != Some(*pin))
            .filter(|pin| {
                !chip
                    .functions(*pin)
                    .iter()
                    .any(|name| name.starts_with("XTAL"))
            })
            .collect();
        // As what came later, with dice of its own.
        let mut later = Dice(ChaCha8Rng::seed_from_u64(seed ^ 0x3C3C));
        let mixed = (seed % 8 == 3 && channels > 1)
            .then(|| spare.pop())
            .flatten();
        let plain = later.chance(15);
        let mut text = String::new();
        writeln!(text, "name: drawn-{seed}\nchip: {}", chip.name).unwrap();
        Self {
            chip,
            channels,
            text,
            spare,
            button: None,
            names: Vec::new(),
            on_a_port: seed % 4 == 1,
            mixed,
            plain,
        }
    }

    fn line(&mut self, line: impl AsRef<str>) {
        self.text.push_str(line.as_ref());
        self.text.push('\n');
    }

    fn settings(&mut self, dice: &mut Dice) {
        let crystal = [
            "8 MHz crystal",
            "16 MHz crystal",
            "12 MHz crystal",
            "7.3728 MHz crystal",
        ];
        match dice.from(0..=3) {
            0 => {}
            1 | 2 => self.line(format!(
                "clock: {} MHz internal",
                dice.one_of(&[1, 4, 8, 8])
            )),
            _ => self.line(format!("clock: {}", dice.one_of(&crystal))),
        }
        self.channel_list(dice);
        self.brightness(dice);
        if dice.chance(25) {
            let slowest = dice.one_of(&[200, 400, 1250, 2500]);
            let mode = dice.one_of(&["auto", "fast", "phase-correct"]);
            self.line(format!("pwm: {{slowest: {slowest} Hz, mode: {mode}}}"));
        } else if self.on_a_port {
            self.line("pwm: {drive: port}");
        } else if self.mixed.is_some() {
            self.line("pwm: {drive: mixed}");
        }
        if dice.chance(25) {
            self.line(format!("tick: {} ms", dice.one_of(&[2, 3, 4, 5, 10, 20])));
        }
        if dice.chance(25) {
            self.line(format!("change_fade: {} ms", 100 * dice.from(1..=20)));
        }
        if dice.chance(25) {
            self.line("watchdog: off");
        }
    }

    fn channel_list(&mut self, dice: &mut Dice) {
        let short = dice.chance(40);
        if short && self.mixed.is_none() && !self.plain {
            return self.line(format!("channels: {}", self.channels));
        }
        self.line("channels:");
        for i in 1..=self.channels {
            let mut keys = Vec::new();
            if !short && dice.chance(15) {
                keys.push(format!("trim: {} %", dice.from(30..=95)));
            }
            if !short && dice.chance(10) {
                keys.push("active: low".to_string());
            }
            let pin = self.mixed.filter(|_| i == self.channels);
            keys.extend(pin.map(|pin| format!("pin: {pin}")));
            self.line(format!("  ch{i}: {{{}}}", keys.join(", ")));
        }
        if self.plain {
            let active = if self.on_a_port { "" } else { ", active: low" };
            self.line(format!("  lamp: {{drive: plain{active}}}"));
        }
    }

    fn brightness(&mut self, dice: &mut Dice) {
        if dice.chance(50) {
            return;
        }
        let curve = dice.one_of(&[
            "lightness",
            "logarithmic",
            "square",
            "linear",
            "{power: 2.2}",
            "{points: [[0 %, 0 %], [50 %, 18 %], [100 %, 100 %]]}",
        ]);
        let levels = dice.one_of(&[2, 16, 32, 64, 100, 128, 256]);
        let floor = dice.one_of(&[0, 0, 0, 10]);
        let ceiling = dice.one_of(&[100, 100, 90, 50]);
        let error = dice.one_of(&["0.25", "0.5", "1", "3"]);
        self.line(format!(
            "brightness: {{curve: {curve}, levels: {levels}, floor: {floor} %, ceiling: {ceiling} %, error: {error}}}"
        ));
    }

    fn patterns(&mut self, dice: &mut Dice) {
        let count = dice.one_of(&[1, 1, 2, 3, 5, 8, 12]);
        self.line("patterns:");
        for i in 1..=count {
            let name = format!("p{i}");
            let all: Vec<usize> = (1..=self.channels).collect();
            match dice.from(0..=5) {
                0 | 1 => {
                    self.line(format!("  {name}:"));
                    let scope = Scope::all(all, dice.chance(40));
                    let indent = self.dimmed();
                    self.steps(dice, indent, &scope);
                }
                2 if self.channels > 1 => {
                    let (first, second) =
                        all.split_at(dice.from(1..=self.channels as u32 - 1) as usize);
                    self.line(format!("  {name}:\n    tracks:"));
                    for part in [first, second] {
                        let names: Vec<String> = part.iter().map(|i| format!("ch{i}")).collect();
                        self.line(format!("      - channels: [{}]", names.join(", ")));
                        self.line("        steps:");
                        let scope = Scope::all(part.to_vec(), dice.chance(30));
                        self.steps(dice, 8, &scope);
                    }
                }
                _ => self.track(dice, &name, all),
            }
            self.names.push(name);
        }
        if self.plain {
            let time = self.channels;
            self.line(format!(
                "  switched: {{channels: lamp, steps: [{{set: 100 %, hold: {time} s}}, {{set: 0 %, hold: 1 s}}]}}"
            ));
            self.names.push("switched".to_string());
        }
    }

    fn dimmed_names(&self) -> String {
        let names: Vec<String> = (1..=self.channels).map(|i| format!("ch{i}")).collect();
        names.join(", ")
    }

    /// Of a pattern that lists steps; where not all channels can be dimmed, it says which it is for. How far its steps
    /// are indented.
    fn dimmed(&mut self) -> usize {
        if !self.plain {
            return 4;
        }
        let names = self.dimmed_names();
        self.line(format!("    channels: [{names}]\n    steps:"));
        6
    }

    fn track(&mut self, dice: &mut Dice, name: &str, all: Vec<usize>) {
        self.line(format!("  {name}:"));
        if self.plain {
            let names = self.dimmed_names();
            self.line(format!("    channels: [{names}]"));
        }
        if dice.chance(40) {
            self.line("    each: true");
        }
        let drawn = dice.chance(20);
        if drawn {
            let (seed, rounds) = (dice.from(1..=99), dice.from(1..=6));
            self.line(format!("    draw: {{seed: {seed}, rounds: {rounds}}}"));
        }
        if dice.chance(50) {
            self.line(format!("    stagger: {}", dice.time()));
        } else {
            self.line(format!("    ahead: {}", dice.time()));
        }
        self.line("    steps:");
        let scope = Scope {
            by_name: false,
            ..Scope::all(all, dice.chance(50))
        };
        self.steps(dice, 6, &scope);
    }

    /// Steps, each a line of its own, that take time.
    fn steps(&mut self, dice: &mut Dice, indent: usize, scope: &Scope) {
        let count = dice.from(1..=5);
        for _ in 0..count {
            let step = scope.step(dice, 2);
            self.line(format!("{:indent$}- {{{step}}}", ""));
        }
        let last = match dice.from(0..=5) {
            0 => scope.wave(dice, false),
            1 => format!("repeat: forever, steps: [{{{}}}]", scope.fade(dice)),
            _ => format!("hold: {}", dice.time()),
        };
        self.line(format!("{:indent$}- {{{last}}}", ""));
    }

    fn shows(&mut self, dice: &mut Dice) {
        let button = !self.spare.is_empty() && dice.chance(70);
        let pump = dice.chance(40);
        if button {
            let pin = self.spare.remove(0);
            let hold = dice.one_of(&["", ", hold: 500 ms", ", hold: 2 s", ", debounce: 10 ms"]);
            self.line(format!("button: {{pin: {pin}{hold}}}"));
            self.button = Some(pin);
        }
        let several = self.names.len() > 1;
        let roam = several && dice.chance(60);
        let steady = dice.chance(40);
        let solo = dice.chance(50) || !(roam || steady);
        let mut shows = Vec::new();
        if roam {
            shows.push(
                dice.one_of(&[
                    "roam: {}",
                    "roam: {dwell: 10 s .. 40 s}",
                    "roam: {dwell: 5 min}",
                ])
                .to_string(),
            );
        }
        if steady && (button || !roam) {
            let levels = dice.one_of(&[1, 1, 2, 3, 6, 9]);
            shows.push(format!("steady: {{levels: {levels}}}"));
        }
        if solo && (button || shows.is_empty()) {
            shows.push("solo: {}".to_string());
        }
        if dice.chance(50) {
            shows.reverse();
        }
        if !button {
            shows.truncate(1);
        }
        if dice.chance(85) {
            self.line("shows:");
            for show in shows {
                self.line(format!("  - {show}"));
            }
        }
        if button && dice.chance(25) {
            self.line("memory: off");
        }
        let pair = self.spare.iter().find_map(|a| {
            let other = self.spare.iter().find(|b| b.port == a.port && *b > a)?;
            Some((*a, *other))
        });
        if let Some((a, b)) = pair.filter(|_| pump) {
            let clock = dice.one_of(&["", "", ", clock: 4 kHz"]);
            self.line(format!("charge_pump: {{pins: [{a}, {b}]{clock}}}"));
        }
    }
}

impl Draft {
    fn standby(&mut self, dice: &mut Dice) {
        let target = Target::of(self.chip);
        let wakes = |pin: &Pin| target.waking(*pin, ButtonTo::Ground).is_some();
        if self.button.as_ref().is_some_and(wakes) && dice.chance(35) {
            let starts = dice.one_of(&["", ", starts: dark"]);
            self.line(format!("standby: {{hold: 3500 ms{starts}}}"));
        }
    }
}

impl Draft {
    /// Contacts, and what is played when power comes.
    fn once(&mut self, dice: &mut Dice) {
        if !dice.chance(35) {
            return;
        }
        let names: Vec<String> = self.names.clone();
        let plays = |dice: &mut Dice| {
            let name = &names[dice.from(0..=names.len() as u32 - 1) as usize];
            let time = dice.one_of(&["500 ms", "2 s", "9 s"]);
            format!("plays: {name}, for: {time}")
        };
        let free = |pin: &&Pin| !self.text.contains(&format!("{pin}"));
        let free: Vec<Pin> = self.spare.iter().filter(free).copied().collect();
        let count = dice.one_of(&[0, 1, 1, 1, 2, 3]).min(free.len());
        if count > 0 {
            self.line("inputs:");
        }
        for (number, pin) in free.iter().take(count).enumerate() {
            let plays = plays(dice);
            let more = dice.one_of(&["", "", ", to: supply", ", debounce: 60 ms"]);
            self.line(format!("  input-{number}: {{pin: {pin}, {plays}{more}}}"));
        }
        if count == 0 || dice.chance(40) {
            let plays = plays(dice);
            self.line(format!("start: {{{plays}}}"));
        }
    }
}

impl Draft {
    /// A switch, for two shows or two patterns.
    fn switch(&mut self, dice: &mut Dice) {
        let shows = self.text.matches("  - roam:").count()
            + self.text.matches("  - steady:").count()
            + self.text.matches("  - solo:").count();
        let written = self.text.contains("shows:");
        let selects = match (written, shows, self.names.as_slice()) {
            (true, 2, _) => "shows".to_string(),
            (false, _, [first, .., last]) => format!("[{first}, {last}]"),
            _ => return,
        };
        let free = |pin: &&Pin| !self.text.contains(&format!("{pin}"));
        let Some(pin) = self.spare.iter().find(free).copied() else {
            return;
        };
        if self.text.contains("inputs:") || !dice.chance(50) {
            return;
        }
        let more = dice.one_of(&["", "", ", to: supply", ", debounce: 60 ms"]);
        self.line(format!(
            "inputs: {{choice: {{pin: {pin}, selects: {selects}{more}}}}}"
        ));
    }
}

impl Draft {
    /// A knob and a sensor of light, among what else comes in.
    fn measured(&mut self, dice: &mut Dice) {
        let counts = self.chip.watchdog.interrupt.is_some();
        let mut hindrances = ["watchdog: off", "drive: port", "drive: mixed", "every:"].iter();
        let sensor = counts && !hindrances.any(|line| self.text.contains(line));
        if dice.chance(30) {
            let sets = dice.one_of(&["sets: brightness", "sets: brightness", "sets: speed"]);
            self.input("knob", sets);
        }
        if sensor && dice.chance(20) {
            self.input(
                "dusk",
                dice.one_of(&["senses: light", "senses: light, steady: 3 s"]),
            );
        }
    }

    /// A guard of the battery, where the chip can see its supply.
    fn guard(&mut self, dice: &mut Dice) {
        let converter = self.chip.converter.as_ref();
        let sees = converter.is_some_and(|converter| converter.bandgap.is_some());
        if sees && dice.chance(20) {
            // Above every level of a brown-out detector.
            self.line("battery: {full: 5 V, empty: 4.5 V, capacity: 1 Ah}");
            self.line(dice.one_of(&["guard: {off: 4.6 V}", "guard: {off: 4.6 V, to: 20 %}"]));
        }
    }

    fn input(&mut self, name: &str, does: &str) {
        let converter = self.chip.converter.iter();
        let mut pins = converter.flat_map(|converter| converter.channels.keys());
        let free = |pin: &&Pin| self.spare.contains(pin) && !self.text.contains(&pin.to_string());
        if let Some(pin) = pins.find(free) {
            self.input_at(*pin, name, does);
        }
    }

    /// Further buttons, as far as there are pins for them.
    fn further(&mut self, dice: &mut Dice) {
        let several = self.names.len() > 1 && !self.text.contains("selects:");
        let (dims, next, back) = (dice.chance(30), dice.chance(20), dice.chance(20));
        let knob = self.text.contains("sets: brightness");
        let few = self.text.contains("levels: 2,") || self.text.contains("levels: 16,");
        let mut wanted = Vec::new();
        if dims && !knob && !few && self.free().len() > 1 {
            let debounce = dice.one_of(&["", "", ", debounce: 60 ms"]);
            wanted.push(("up", format!("tap: brighter{debounce}")));
            wanted.push(("down", "tap: darker".to_string()));
        }
        let supply = dice.one_of(&["", "", ", to: supply"]);
        if several && next {
            wanted.push(("on", format!("tap: next{supply}")));
        }
        if several && back {
            wanted.push(("back", format!("tap: previous{supply}")));
        }
        for (name, does) in wanted {
            if let Some(pin) = self.free().first() {
                self.input_at(*pin, name, &does);
            }
        }
    }

    /// Pins that are spare, and not taken.
    fn free(&self) -> Vec<Pin> {
        let spare = self.spare.iter();
        let free = spare.filter(|pin| !self.text.contains(&pin.to_string()));
        free.copied().collect()
    }

    fn input_at(&mut self, pin: Pin, name: &str, does: &str) {
        let input = format!("{name}: {{pin: {pin}, {does}}}");
        if self.text.contains("\ninputs:\n") {
            let with = format!("\ninputs:\n  {input}\n");
            self.text = self.text.replacen("\ninputs:\n", &with, 1);
        } else if self.text.contains("\ninputs: {") {
            let with = format!("\ninputs: {{{input}, ");
            self.text = self.text.replacen("\ninputs: {", &with, 1);
        } else {
            self.line(format!("inputs: {{{input}}}"));
        }
    }
}

impl Draft {
    fn evening(&mut self, dice: &mut Dice) {
        let counts = self.chip.watchdog.interrupt.is_some();
        if counts && !self.text.contains("watchdog: off") && dice.chance(25) {
            let times = dice.one_of(&["on: 5 h", "on: 10 min, every: 1 h", "on: 12 h"]);
            self.line(format!("evening: {{{times}}}"));
            if !self.text.contains("change_fade") && dice.chance(50) {
                self.line("change_fade: 0 s");
            }
        }
    }
}

/// What steps can speak of.
struct Scope {
    channels: Vec<usize>,
    by_name: bool,
    random: bool,
}

impl Scope {
    fn all(channels: Vec<usize>, random: bool) -> Self {
        Self {
            by_name: channels.len() > 1,
            channels,
            random,
        }
    }

    fn step(&self, dice: &mut Dice, depth: u32) -> String {
        let kinds = if depth == 0 { 6 } else { 9 };
        match dice.from(0..=kinds) {
            0..=2 => self.fade(dice),
            3 => {
                let target = self.target(dice);
                let hold = dice.chance(70);
                let time = dice.time_or_range(self.random && hold);
                if hold {
                    format!("set: {target}, hold: {time}")
                } else {
                    format!("set: {target}")
                }
            }
            4 => format!("hold: {}", dice.time_or_range(self.random)),
            5 => self.wave(dice, true),
            6 => {
                let times: Vec<String> = (0..2 * dice.from(1..=3)).map(|_| dice.time()).collect();
                format!("rhythm: [{}]", times.join(", "))
            }
            7 | 8 => {
                let inner = self.list(dice, depth);
                format!("repeat: {}, steps: [{inner}]", dice.from(2..=12))
            }
            _ if self.random && self.by_name && dice.chance(50) => {
                let inner = Self {
                    channels: self.channels.clone(),
                    by_name: false,
                    random: self.random,
                };
                format!("pick: all, steps: [{}]", inner.list(dice, depth))
            }
            _ if self.random => {
                let branches = [self.list(dice, depth), self.list(dice, depth)];
                format!("branch: [[{}], [{}]]", branches[0], branches[1])
            }
            _ => self.fade(dice),
        }
    }

    fn list(&self, dice: &mut Dice, depth: u32) -> String {
        let count = dice.from(1..=2);
        let mut steps: Vec<String> = (0..count)
            .map(|_| format!("{{{}}}", self.step(dice, depth - 1)))
            .collect();
        steps.push(format!("{{hold: {}}}", dice.time()));
        steps.join(", ")
    }

    fn fade(&self, dice: &mut Dice) -> String {
        let target = self.target(dice);
        let range = self.random && dice.chance(50);
        let over = dice.time_or_range(range);
        format!("to: {target}, over: {over}{}", dice.ease())
    }

    fn target(&self, dice: &mut Dice) -> String {
        let random = self.random && dice.chance(50);
        if self.by_name && dice.chance(40) {
            let channel = dice.one_of(&self.channels);
            let (one, rest) = (dice.level(random), dice.level(false));
            format!("{{ch{channel}: {one}, rest: {rest}}}")
        } else {
            dice.level(random)
        }
    }

    fn wave(&self, dice: &mut Dice, counted: bool) -> String {
        let shape = dice.one_of(&["sine", "triangle", "saw", "square"]);
        let period = 100 * dice.from(4..=80);
        let low = dice.from(0..=40);
        let spread = dice.one_of(&[0, 0, 10, 25]);
        let spread = if self.by_name {
            format!(", spread: {spread} %")
        } else {
            String::new()
        };
        let cycles = if counted {
            format!(", cycles: {}", dice.from(1..=4))
        } else {
            String::new()
        };
        format!("wave: {shape}, period: {period} ms, low: {low} %{spread}{cycles}")
    }
}
