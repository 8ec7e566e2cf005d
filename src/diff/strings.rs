//! What hangs on each channel, stated in a line, so that it can be compared.

use crate::circuit::Hung;
use crate::design::Design;
use crate::spec::{LedString, Switch, SwitchDrive, Transistor};

use super::BudgetChange;

/// By channel, of those of which anything is said: its name and its string.
pub(super) fn stated(design: &Design) -> impl Iterator<Item = (String, String)> {
    let wanted = design.project.electrics.strings.iter();
    let channels = design.project.channels.iter().zip(wanted);
    channels
        .zip(&design.circuit.strings)
        .filter_map(|((channel, wanted), hung)| {
            let what = format!("string {}", channel.name.value);
            Some((what, string(wanted.as_ref()?, hung.as_ref()?)))
        })
}

fn string(wanted: &LedString, hung: &Hung) -> String {
    let string = &hung.string;
    let leds = if string.leds == 1 { "LED" } else { "LEDs" };
    let side_by_side = match string.parallel {
        1 => String::new(),
        count => format!(" × {count}"),
    };
    let switch = match (wanted.switch.value, &wanted.transistor) {
        (Switch::Pin, _) => "on its pin".to_string(),
        (_, Some(known)) => match &known.value {
            Transistor::Named(name) => name.clone(),
            Transistor::Sheet(_) => "transistor by its datasheet".to_string(),
        },
        (Switch::Npn, None) => "npn".to_string(),
        (Switch::Mosfet, None) => "mosfet".to_string(),
    };
    let drive = match wanted.drive.value {
        SwitchDrive::Plain => "",
        SwitchDrive::SpeedUp => ", sped up",
        SwitchDrive::Clamp => ", clamped",
        SwitchDrive::Sink => " as a sink",
    };
    format!(
        "{} {leds}{side_by_side}, {} from {}, {}, {switch}{drive}",
        string.leds,
        string.current,
        hung.rail.text(),
        string.resistor,
    )
}

/// Whether the light at the LEDs differs by what switches and pump make of it.
pub(super) fn at_the_leds(budget: &[BudgetChange]) -> bool {
    let told = ["led", "led-ideal", "pump-crosstalk"];
    let mut rows = budget.iter().filter(|row| told.contains(&row.name));
    rows.any(|row| row.old != row.new)
}
