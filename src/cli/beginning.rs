//! What a new project begins with on a chip: pins that exist, and no more than it has room for.

use duskloom::chip::{Chip, Pin};
use duskloom::units::Bytes;
use minijinja::value::Serde;
use minijinja::{Environment, Value};
use serde::Serialize;

const TEMPLATE: &str = include_str!("../../templates/new.yaml.j2");

/// What the template of a new project says of the chip.
#[derive(Debug, Serialize)]
pub(super) struct Beginning {
    name: String,
    chip: &'static str,
    /// The one it makes by itself unless told otherwise.
    clock: String,
    strings: Vec<StringText>,
    /// The name of the last string.
    last: &'static str,
    /// A pin for the button.
    button: String,
    /// There is flash for patterns with chance, and for a show that roams.
    roomy: bool,
}

#[derive(Debug, Serialize)]
struct StringText {
    /// Its name and a colon, as wide as the widest.
    key: String,
    pin: String,
    /// What follows the pin.
    also: &'static str,
}

/// The strings, and what each shows of the grammar.
const STRINGS: [(&str, &str); 4] = [
    ("left", ", group: pair"),
    ("right", ", group: pair"),
    ("middle", ""),
    ("top", ", trim: 80 %"),
];

/// The flash from which all of the patterns fit.
const ROOMY: Bytes = Bytes(2048);

impl Beginning {
    pub(super) fn on(chip: &'static Chip, name: &str) -> Self {
        let mut pins: Vec<Pin> = Vec::new();
        for (_, output) in chip.outputs() {
            let is_new = !pins.contains(&output.pin) && chip.reset != Some(output.pin);
            if is_new && pins.len() < STRINGS.len() {
                pins.push(output.pin);
            }
        }
        let strings = STRINGS.iter().zip(&pins);
        let last = STRINGS[pins.len() - 1].0;
        Self {
            name: name.to_string(),
            chip: &chip.name,
            clock: chip.clocks.internal[0].hertz.to_string(),
            strings: strings
                .map(|((name, also), pin)| StringText {
                    key: format!("{:<8}", format!("{name}:")),
                    pin: pin.to_string(),
                    also,
                })
                .collect(),
            last,
            button: button(chip, &pins).to_string(),
            roomy: chip.flash >= ROOMY,
        }
    }

    /// The project's text, without the line break at its end.
    pub(super) fn text(&self) -> String {
        let context = Value::from(Serde(self));
        Environment::new()
            .render_str(TEMPLATE, context)
            .expect("the template is tested with every chip")
    }
}

/// A pin that nothing else wants: best one that the programmer leaves alone, and on a port with no string.
fn button(chip: &Chip, strings: &[Pin]) -> Pin {
    let free = chip
        .pins()
        .filter(|pin| chip.reset != Some(*pin) && !strings.contains(pin));
    let wanted = |pin: &Pin| {
        let programs = chip.programming.function(*pin).is_some();
        let beside = strings.iter().any(|string| string.port == pin.port);
        let others = chip.functions(*pin).len();
        (programs, others > 0, beside, *pin)
    };
    free.min_by_key(wanted)
        .expect("every chip has more pins than strings")
}
