//! The ports as they are before anything runs, and the pins that are turned into outputs.

use serde::Serialize;

use crate::design::Design;
use crate::plan::{HighPin, Latch, Plan};

/// A port's output latch before the outputs are turned on.
#[derive(Debug, Serialize)]
pub(super) struct Port {
    register: String,
    value: u8,
    note: String,
}

#[derive(Debug, Serialize)]
pub(super) struct Direction {
    register: String,
    mask: u8,
}

pub(super) fn ports(design: &Design) -> Vec<Port> {
    let why = |reason: &HighPin| match reason {
        HighPin::PullUp(pin) => format!("pull-up of the button on {pin}"),
        HighPin::ContactPullUp(index) => {
            let name = &design.project.contacts[*index].name.value;
            let pin = design.plan.contacts[*index].pin;
            format!("pull-up of `{name}` on {pin}")
        }
        HighPin::SelectorPullUp => {
            let selector = design.project.selector.as_ref();
            let name = selector.map_or("", |selector| &selector.name.value);
            format!("pull-up of `{name}`")
        }
        HighPin::Pump(pin) => format!("the pump's {pin} starts high"),
        HighPin::Dark(index) => {
            let name = &design.project.channels[*index].name.value;
            format!("{name} is dark when high")
        }
        HighPin::Unused => "unused pins do not float".to_string(),
    };
    let port = |latch: &Latch| {
        let notes: Vec<String> = latch.reasons.iter().map(why).collect();
        Port {
            register: latch.register.clone(),
            value: latch.value,
            note: notes.join("; "),
        }
    };
    design.plan.latches.iter().map(port).collect()
}

pub(super) fn directions(plan: &Plan) -> Vec<Direction> {
    let ports = plan.drive.directions().iter();
    ports
        .map(|port| Direction {
            register: port.register.clone(),
            mask: port.mask,
        })
        .collect()
}
