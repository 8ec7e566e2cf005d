//! The channels' pins, and the ports as they are before anything runs.

use serde::Serialize;

use super::write::store;
use crate::design::Design;
use crate::plan::Plan;
use crate::spec::Active;

#[derive(Debug, Serialize)]
pub(super) struct Channel {
    name: String,
    pin: String,
    output: &'static str,
    compare: &'static str,
    store: &'static str,
    /// Register names, or offsets into the lamps.
    part: String,
    base: String,
}

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

pub(super) fn channels(design: &Design) -> Vec<Channel> {
    let lamps = design.firmware.registers.lamps.as_ref();
    let channel = |(i, plan): (usize, &crate::plan::ChannelPlan)| {
        let (part, base) = match lamps {
            Some(lamps) => (format!("r{}", lamps[i].part), format!("r{}", lamps[i].base)),
            None => ((2 * i).to_string(), (2 * i + 1).to_string()),
        };
        Channel {
            name: design.project.channels[i].name.value.clone(),
            pin: plan.pin.to_string(),
            output: plan.output,
            compare: plan.compare,
            store: store(plan.reach),
            part,
            base,
        }
    };
    design
        .plan
        .channels
        .iter()
        .enumerate()
        .map(channel)
        .collect()
}

/// Pull-up of the button, the pump's opposite starts, strings that are dark when high; and while a port is
/// written, pull-ups for its pins that nothing hangs on, so that none of them floats.
pub(super) fn ports(design: &Design) -> Vec<Port> {
    let plan = &design.plan;
    let mut bits: Vec<(char, String, u8, String)> = Vec::new();
    if let Some(button) = &plan.button
        && !design.project.button_to_supply()
    {
        let note = format!("pull-up of the button on {}", button.pin);
        bits.push((
            button.pin.port,
            button.port.clone(),
            button.pin.mask(),
            note,
        ));
    }
    if let Some(pump) = &plan.pump {
        let pin = &pump.pins[0];
        let note = format!("the pump's {} starts high", pin.pin);
        bits.push((pin.pin.port, pin.port.clone(), pin.pin.mask(), note));
    }
    for (channel, name) in plan.channels.iter().zip(&design.project.channels) {
        if channel.active == Active::Low {
            let port = format!("PORT{}", channel.pin.port);
            let note = format!("{} is dark when high", name.name.value);
            bits.push((channel.pin.port, port, channel.pin.mask(), note));
        }
    }
    bits.sort_by_key(|(port, ..)| *port);
    let mut ports: Vec<Port> = Vec::new();
    for (_, register, value, note) in bits {
        match ports.last_mut().filter(|port| port.register == register) {
            Some(port) => {
                port.value |= value;
                port.note = format!("{}; {note}", port.note);
            }
            None => ports.push(Port {
                register,
                value,
                note,
            }),
        }
    }
    for port in &mut ports {
        let unused = plan
            .unused_pins()
            .filter(|pin| format!("PORT{}", pin.port) == port.register)
            .fold(0, |mask, pin| mask | pin.mask());
        if unused > 0 {
            port.value |= unused;
            port.note += "; unused pins do not float";
        }
    }
    ports
}

pub(super) fn directions(plan: &Plan) -> Vec<Direction> {
    let ports = plan.directions.iter();
    ports
        .map(|port| Direction {
            register: port.register.clone(),
            mask: port.mask,
        })
        .collect()
}
