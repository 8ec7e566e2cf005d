//! Off, until a button is pressed: how the chip is powered down, and what wakes it.

use super::{PortPin, Target, Write};
use crate::chip::{BrownOut, Pin};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{ButtonTo, Project, Starts};
use crate::units::Time;

/// How the chip is powered down.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StandbyPlan {
    pub waking: Waking,
    /// How long the button must be up before the chip sleeps, and what it is connected to while it is down.
    pub debounce: Time,
    pub button: ButtonTo,
    pub starts: Starts,
    /// Just before each sleep, in this order and without anything between.
    pub sleep: Vec<Write>,
    /// The brown-out detector draws its current in sleep as well.
    pub watches_supply: bool,
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

/// How a project's standby is done. `None`: it has none, or after adding an error.
pub fn choose(
    target: Target,
    project: &Project,
    button: Option<&PortPin>,
    brown_out: Option<&BrownOut>,
    notes: &mut Notes,
) -> Option<StandbyPlan> {
    let standby = project.standby?;
    let pressed = project.button.as_ref()?;
    let to = pressed.to;
    let pin = button?.pin;
    let Some(waking) = target.waking(pin, to) else {
        notes.add(cannot_wake(target, project, pin, to));
        return None;
    };
    Some(StandbyPlan {
        waking,
        debounce: pressed.debounce.value,
        button: to,
        starts: standby.value.starts,
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
    Diagnostic::error("C055", span, message)
        .label("`standby` needs a pin that wakes the chip from power-down")
        .hint(hint)
}
