//! The analogue-to-digital converter: what it measures for a project, and how it is set going.

use serde::Serialize;

use super::supply::{self, SupplyPlan};
use super::{Claims, ClockPlan, PortPin, Target, Write};
use crate::chip::{self, BrownOut, Chip, Reach};
use crate::diagnostic::{Diagnostic, Notes, Spanned, short};
use crate::spec::Project;
use crate::units::Hertz;

/// What the converter measures, again and again, the measured things in turn.
#[derive(Debug, Clone, PartialEq)]
pub struct ConverterPlan {
    /// In the order of their turns. At least one.
    pub measures: Vec<Measure>,
    /// What it tells of the supply, where that is measured.
    pub supply: Option<SupplyPlan>,
    /// Written in this order before the light begins; the last one sets it going.
    pub set_up: Vec<Write>,
    /// Read for what it has measured: 0 to 255, of the supply.
    pub result: &'static str,
    pub reach: Reach,
    /// Has it convert once, and the bit that is set until it has.
    pub once: Write,
    pub busy: u8,
    /// Switches it off.
    pub off: Write,
    /// What it measures in a second.
    pub rate: Hertz,
}

/// Something that is measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    pub what: Measured,
    pub channel: u8,
    /// `None`: it is within the chip.
    pub pin: Option<PortPin>,
    /// Has it measured from the next conversion on.
    pub choose: Write,
}

/// What is measured, in the order of turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measured {
    /// How bright it is around: asked for at the first tick already.
    Room,
    /// The supply, of which the cells are.
    Cells,
    Knob,
}

impl ConverterPlan {
    /// The channel of what is measured. `None`: it is not.
    pub fn channel(&self, what: Measured) -> Option<u8> {
        self.measure(what).map(|measure| measure.channel)
    }

    /// How something is measured. `None`: it is not.
    pub fn measure(&self, what: Measured) -> Option<&Measure> {
        self.measures.iter().find(|measure| measure.what == what)
    }
}

/// `None`: nothing is measured, or it cannot be.
pub fn choose(
    target: Target,
    project: &Project,
    clock: &ClockPlan,
    brown_out: Option<&BrownOut>,
    claims: &Claims,
    notes: &mut Notes,
) -> Option<ConverterPlan> {
    let chip = target.chip;
    let supply = supply::choose(chip, project, brown_out, notes);
    let knob = project.knob.as_ref().zip(claims.knob);
    let knob = knob.map(|(knob, pin)| (Measured::Knob, &knob.pin, pin));
    let sensor = project.sensor.as_ref().zip(claims.sensor);
    let sensor = sensor.map(|(sensor, pin)| (Measured::Room, &sensor.pin, pin));
    let wanted: Vec<_> = sensor.into_iter().chain(knob).collect();
    let Some(converter) = &chip.converter else {
        let (_, first, _) = wanted.first()?;
        notes.add(without(chip, first));
        return None;
    };
    let mut measures: Vec<Measure> = supply
        .iter()
        .map(|(bandgap, _)| Measure {
            what: Measured::Cells,
            channel: bandgap.channel,
            pin: None,
            choose: target.measure(converter, bandgap.channel),
        })
        .collect();
    for (what, written, pin) in wanted {
        let Some(&channel) = converter.channels.get(&pin) else {
            notes.add(not_measured(chip, converter, written, claims));
            continue;
        };
        measures.push(Measure {
            what,
            channel,
            pin: Some(target.pin(pin)),
            choose: target.measure(converter, channel),
        });
    }
    measures.sort_by_key(|measure| measure.what);
    let channels: Vec<u8> = measures.iter().map(|measure| measure.channel).collect();
    let mut set_up = target.prepare_converter(converter, &channels);
    set_up.push(measures.first()?.choose.clone());
    let (result, register) = super::register(chip, target.converted());
    let (go, rate) = target.converts(converter, clock.frequency);
    set_up.push(go.clone());
    let (once, busy) = target.converts_once(converter, go);
    Some(ConverterPlan {
        measures,
        supply: supply.map(|(_, plan)| plan),
        set_up,
        result,
        reach: register.reach(),
        once,
        busy,
        off: target.no_converter(),
        rate,
    })
}

fn without(chip: &Chip, at: &Spanned<String>) -> Diagnostic {
    let others = chip::families(|other| other.converter.is_some());
    Diagnostic::error(
        "C058",
        at.span,
        format!("{} cannot measure a voltage", chip.title),
    )
    .label("expected a chip with an analogue-to-digital converter")
    .hint(format!("chips of these families have one: {others}"))
}

fn not_measured(
    chip: &Chip,
    converter: &chip::Converter,
    at: &Spanned<String>,
    claims: &Claims,
) -> Diagnostic {
    let pins = converter.channels.keys();
    let free = pins.filter(|pin| claims.is_free(**pin));
    let free: Vec<String> = free.map(ToString::to_string).collect();
    let message = format!(
        "no voltage is measured at {} of {}",
        short(&at.value),
        chip.title
    );
    Diagnostic::error("C059", at.span, message)
        .label("expected a pin of the analogue-to-digital converter")
        .hint(match free.as_slice() {
            [] => "all of them are taken".to_string(),
            free => format!("free: {}", free.join(", ")),
        })
}
