//! What can hurt people. Local codes and licensed practice come first.

use crate::board::Board;
use crate::design::Design;
use crate::spec::Switch;
use crate::units::{Amps, Volts};

const PEOPLE: &str = "Flashing light can set off seizures in photosensitive people. Mind the flash \
    and flicker verdicts, and tell people before you show a light that flashes.";
const FLASHES: &str = "THIS LIGHT FLASHES more than three times in a second at times (WCAG 2, success \
    criterion 2.3.1). Show it only to people who know and agree, and put up a notice.";
const MAINS: &str = "Mains: use a ready-made, isolated adapter with a mark of approval for your \
    country. Anything wired to the mains is for licensed people, by your local codes.";
const BATTERY: &str = "Batteries: never short, mix, or charge cells that are not made for it; fit a \
    fuse close to the battery; lithium cells need protection and a charger made for them.";
const BOOSTED: &str = "Charge pump: its output is higher than the supply, and its capacitors stay \
    charged after the power is off. Discharge them through 1 kohm before you touch the circuit.";
const DANGEROUS: &str = "The charge pump makes more than 60 V, which can be dangerous to touch: \
    enclose it, and let somebody who is trained for it check it.";
const STANDBY: &str = "Standby: off is not unplugged. The board keeps its supply, and a pump's capacitors their charge; \
    take the cells out, or pull the plug, before you work on it or store it.";
const EVENINGS: &str = "Evenings: dark is not unplugged. The board keeps its supply at night, a pump's capacitors their \
    charge, and it lights up by itself; take the cells out, or pull the plug, before you work on it or store it.";
const GUARD: &str = "Guard: it spares cells, and does not protect them. Once the light has gone the board still draws a \
    little: take spent cells out. Lithium cells need a protection of their own besides.";
const HEAT: &str = "The regulator gets hot. Mount it as its datasheet asks for, away from plastic, \
    paper and fingers.";
const CURRENT: &str = "LEDs: look into bright ones from the side only, and let resistors that get \
    warm have air.";

/// Direct voltages above this are not extra-low for safety in dry places (IEC 61140 and IEC 60364-4-41
/// give 120 V ripple-free, 60 V where touched; from memory).
const TOUCHABLE: Volts = Volts(60.0);

pub(super) fn cautions(design: &Design, board: &Board) -> Vec<String> {
    let circuit = &board.circuit;
    let electrics = &design.project.electrics;
    let regulated = electrics
        .supply
        .as_ref()
        .is_some_and(|supply| supply.regulator.is_some());
    let open = circuit.pump.map(|pump| pump.output(Amps(0.0)));
    let said = [
        (board.flashes(), FLASHES),
        (true, PEOPLE),
        (design.plan.drive.pump().is_some(), BOOSTED),
        (open.is_some_and(|volts| volts > TOUCHABLE), DANGEROUS),
        (design.project.standby.is_some(), STANDBY),
        (design.project.has_nights(), EVENINGS),
        (design.project.guard.is_some(), GUARD),
        (regulated, HEAT),
        (electrics.battery.is_some(), BATTERY),
        (electrics.battery.is_none(), MAINS),
        (circuit.is_known(), CURRENT),
    ];
    said.into_iter()
        .filter(|(applies, _)| *applies)
        .map(|(_, caution)| caution.to_string())
        .chain(glowing(design))
        .chain(floating(design, board))
        .collect()
}

/// Strings that nothing but a resistor keeps dark while the chip is in reset.
fn floating(design: &Design, board: &Board) -> Option<String> {
    let strings = board
        .circuit
        .strings
        .iter()
        .zip(&design.project.electrics.strings);
    let switched = strings
        .zip(&design.project.channels)
        .filter(|((hung, wanted), _)| {
            let wanted = wanted.as_ref().filter(|_| hung.is_some());
            wanted.is_some_and(|string| string.switch.value != Switch::Pin)
        });
    let names: Vec<String> = switched
        .map(|(_, channel)| format!("`{}`", channel.name.value))
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "While the chip is in reset or being programmed its legs float: {} may glow then without the \
             resistor that keeps the transistor off.",
            names.join(", ")
        )
    })
}

/// Strings that the programmer's signals reach.
fn glowing(design: &Design) -> Option<String> {
    let plan = &design.plan;
    let channels = plan.drive.channels().iter().zip(&design.project.channels);
    let reached = channels.filter(|(on, _)| plan.chip.programming.function(on.pin).is_some());
    let names: Vec<String> = reached
        .map(|(_, channel)| format!("`{}`", channel.name.value))
        .collect();
    (!names.is_empty()).then(|| {
        format!(
            "While the chip is programmed, {} may glow or flicker, whatever the patterns do: the \
             programmer's signals are on these legs.",
            names.join(", ")
        )
    })
}
