//! Pins that the programmer uses too, with what hangs on them.

use super::flow::Circuit;
use crate::chip::Pin;
use crate::diagnostic::{Diagnostic, Span};
use crate::plan::Plan;
use crate::spec::{Project, Switch};
use crate::target::Measured;
use crate::units::Ohms;

/// In series with a pin, this lets the programmer win (Microchip AN2519, 'AVR Microcontroller Hardware
/// Design Considerations', on shared programming lines; from memory).
const ENOUGH: Ohms = Ohms(1000.0);

/// What would keep a chip from being programmed in its circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Holder {
    /// Something of which the project says nothing, or a contact.
    Unknown,
    /// LEDs straight at the pin, behind the resistor that sets their current.
    Leds,
    /// A capacitor of the charge pump.
    Pump,
}

impl Holder {
    const ALL: [Self; 3] = [Self::Unknown, Self::Leds, Self::Pump];

    /// What helps. It never asks for a part that would spoil what hangs there.
    fn hint(self) -> &'static str {
        match self {
            Self::Unknown => "1 kohm or more in between is enough; or unplug it to program",
            Self::Leds => {
                "another pin, or a transistor (`switch: npn`), is better; or unplug it to program"
            }
            Self::Pump => {
                "use another pin: a resistor would spoil the pump; or unplug its capacitor to program"
            }
        }
    }
}

/// C016 for each kind of thing that holds a pin: strings behind a resistor that is enough, or at the
/// gate of a MOSFET, hold none.
pub fn advice(project: &Project, plan: &Plan, circuit: &Circuit) -> Vec<Diagnostic> {
    let held = held(project, plan, circuit);
    let said = |holder| {
        let pins: Vec<&(Pin, Span, Holder)> =
            held.iter().filter(|(.., held)| *held == holder).collect();
        let (_, span, _) = pins.first()?;
        let names: Vec<String> = pins
            .iter()
            .filter_map(|(pin, ..)| {
                let function = plan.chip.programming.function(*pin)?;
                Some(format!("{pin} ({function})"))
            })
            .collect();
        let verb = if names.len() == 1 { "is" } else { "are" };
        let message = format!(
            "{} {verb} also used for programming in the circuit",
            names.join(", ")
        );
        let advice = Diagnostic::caution("C016", *span, message)
            .label("what hangs on it must not hold it")
            .hint(holder.hint());
        Some(advice)
    };
    Holder::ALL.into_iter().filter_map(said).collect()
}

/// In the order of the pins.
fn held(project: &Project, plan: &Plan, circuit: &Circuit) -> Vec<(Pin, Span, Holder)> {
    let mut held = Vec::new();
    for (index, (channel, planned)) in project
        .channels
        .iter()
        .zip(plan.drive.channels())
        .enumerate()
    {
        let span = channel
            .pin
            .as_ref()
            .map_or(channel.name.span, |pin| pin.span);
        if let Some(holder) = of_string(project, circuit, index) {
            held.push((planned.pin, span, holder));
        }
    }
    if let (Some(button), Some(planned)) = (&project.button, &plan.button) {
        held.push((planned.pin, button.pin.span, Holder::Unknown));
    }
    let contacts = project.contacts.iter().zip(&plan.contacts);
    held.extend(
        contacts.map(|(written, planned)| (planned.pin, written.pin.span, Holder::Unknown)),
    );
    let selector = project.selector.iter().zip(&plan.selector);
    held.extend(
        selector.map(|(written, planned)| (planned.pin, written.pin.span, Holder::Unknown)),
    );
    let knob = project.knob.as_ref().map(|knob| knob.pin.span);
    let sensor = project.sensor.as_ref().map(|sensor| sensor.pin.span);
    for (written, what) in [(knob, Measured::Knob), (sensor, Measured::Room)] {
        let measured = written.zip(plan.measured_at(what));
        held.extend(measured.map(|(span, planned)| (planned.pin, span, Holder::Unknown)));
    }
    if let (Some(pump), Some(planned)) = (&project.charge_pump, plan.drive.pump()) {
        let pins = pump.pins.iter().zip(&planned.pins);
        held.extend(pins.map(|(written, planned)| (planned.pin, written.span, Holder::Pump)));
    }
    held.retain(|(pin, ..)| plan.chip.programming.function(*pin).is_some());
    held.sort_by_key(|(pin, ..)| *pin);
    held
}

/// What a channel's string is to the programmer.
fn of_string(project: &Project, circuit: &Circuit, channel: usize) -> Option<Holder> {
    let wanted = project.electrics.strings.get(channel);
    let hung = circuit.strings.get(channel);
    let (Some(Some(wanted)), Some(Some(hung))) = (wanted, hung) else {
        return Some(Holder::Unknown);
    };
    let enough = |ohms: Ohms| ohms.0 >= ENOUGH.0;
    match wanted.switch.value {
        // A gate takes no current.
        Switch::Mosfet => None,
        Switch::Npn => {
            let behind = hung.string.base.is_some_and(|base| enough(base.resistor));
            (!behind).then_some(Holder::Unknown)
        }
        Switch::Pin => (!enough(hung.string.resistor)).then_some(Holder::Leds),
    }
}
