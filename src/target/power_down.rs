//! Dark, in standby or at night: how the chip is powered down, and what wakes it.

use super::{PortPin, Target, Write};
use crate::chip::{BrownOut, Pin};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{ButtonTo, Project};
use crate::units::Time;

/// How the chip is powered down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PowerDown {
    /// `None`: no button wakes it.
    pub button: Option<WakingButton>,
    /// Just before each sleep, in this order and without anything between.
    pub sleep: Vec<Write>,
    /// The brown-out detector draws its current in sleep as well.
    pub watches_supply: bool,
}

/// A button that wakes the chip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WakingButton {
    pub waking: Waking,
    /// How long it must be up before the chip sleeps, and what it is connected to while it is down.
    pub debounce: Time,
    pub to: ButtonTo,
}

/// An interrupt that wakes the chip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Waking {
    /// As avr-libc names it.
    pub vector: &'static str,
    pub number: u8,
    /// Lets it through, in this order.
    pub allow: Vec<Write>,
    /// Keeps it out.
    pub forbid: Write,
}

/// How a project's chip sleeps in the dark. `None`: it is never dark while it has power.
///
/// A button that cannot wake is an error in standby, which nothing else would end, and a caution at night.
pub fn choose(
    target: Target,
    project: &Project,
    button: Option<&PortPin>,
    brown_out: Option<&BrownOut>,
    notes: &mut Notes,
) -> Option<PowerDown> {
    let wakes = project.standby.is_some() || project.has_nights();
    if !wakes && project.guard.is_none() {
        return None;
    }
    let pressed = project.button.as_ref().zip(button).filter(|_| wakes);
    let button = pressed.and_then(|(pressed, pin)| {
        let to = pressed.to;
        let Some(waking) = target.waking(pin.pin, to) else {
            notes.add(cannot_wake(target, project, pin.pin, to));
            return None;
        };
        Some(WakingButton {
            waking,
            debounce: pressed.debounce.value,
            to,
        })
    });
    Some(PowerDown {
        button,
        sleep: target.power_down(brown_out.is_some()),
        watches_supply: brown_out.is_some() && !target.rests_detector(),
    })
}

fn cannot_wake(target: Target, project: &Project, pin: Pin, to: ButtonTo) -> Diagnostic {
    let chip = target.chip;
    let wakes = |pin: &Pin, to| target.waking(*pin, to).is_some() && chip.reset != Some(*pin);
    let other = |to| -> Vec<String> {
        let pins = chip.pins().filter(|pin| wakes(pin, to));
        pins.map(|pin| pin.to_string()).collect()
    };
    let span = project
        .button
        .as_ref()
        .map_or(project.chip.span, |button| button.pin.span);
    let message = format!("a button on {pin} cannot wake the {}", chip.title);
    let hint = if wakes(&pin, ButtonTo::Ground) {
        format!("{pin} wakes it by a low level: `to: ground`")
    } else {
        format!("these can: {}", other(to).join(", "))
    };
    match project.standby {
        Some(_) => Diagnostic::error("C055", span, message)
            .label("`standby` needs a pin that wakes the chip from power-down")
            .hint(hint),
        None => Diagnostic::caution("C055", span, message)
            .label("in the dark between two evenings a press does nothing")
            .hint(hint),
    }
}
