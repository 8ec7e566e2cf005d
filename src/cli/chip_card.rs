//! Chips as text: a list of all, and a card of one.

use duskloom::chip::{Chip, Package, Pin, all};
use duskloom::units::Bytes;

/// One line a chip.
pub(super) fn list() -> String {
    let mut text = format!(
        "{:<14}{:>8}{:>8}{:>8}{:>6}{:>10}  {}\n",
        "chip", "flash", "RAM", "EEPROM", "PWM", "up to", "packages"
    );
    for chip in all() {
        let packages: Vec<&str> = chip.packages.iter().map(|p| p.name.as_str()).collect();
        text += &format!(
            "{:<14}{:>8}{:>8}{:>8}{:>6}{:>10}  {}\n",
            chip.name,
            size(chip.flash),
            size(chip.ram.size),
            size(chip.eeprom.size),
            pwm_pins(chip).len(),
            fastest(chip),
            packages.join(", "),
        );
    }
    text
}

/// All that a project can use of a chip.
pub(super) fn card(chip: &Chip, ascii: bool) -> String {
    let text = drawn(chip);
    if !ascii {
        return text;
    }
    let plain = |c: char| match c {
        '┤' | '├' | '│' => '|',
        '─' => '-',
        '┌' | '┐' | '└' | '┘' => '+',
        '◡' => 'U',
        other => other,
    };
    text.chars().map(plain).collect()
}

fn drawn(chip: &Chip) -> String {
    let mut text = format!("{} ({}): {}\n\n", chip.title, chip.name, chip.datasheet);
    text += &format!(
        "  memory    {} flash, {} RAM, {} EEPROM\n",
        size(chip.flash),
        size(chip.ram.size),
        size(chip.eeprom.size)
    );
    let grades: Vec<String> = chip
        .speed
        .iter()
        .map(|grade| format!("{} from {}", grade.hertz, grade.volts))
        .collect();
    text += &format!("  speed     {}\n", grades.join(", "));
    text += &format!("  clocks    {}\n", clocks(chip));
    if let Some(reset) = chip.reset {
        text += &format!("  reset     {reset}, kept for programming\n");
    }
    let fuses: Vec<String> = chip
        .fuses
        .iter()
        .map(|fuse| format!("{} 0x{:02X}", fuse.name, fuse.factory))
        .collect();
    text += &format!("  fuses     {} as delivered\n", fuses.join(", "));
    let packages: Vec<&str> = chip.packages.iter().map(|p| p.name.as_str()).collect();
    text += &format!("  package   {}\n", packages.join(", "));
    for (index, erratum) in chip.errata.iter().enumerate() {
        let head = if index == 0 { "errata" } else { "" };
        text += &format!("  {head:<8}  {erratum}\n");
    }
    text += "\n  PWM output  pin   timer  also\n";
    for (timer, output) in chip.outputs() {
        let others: Vec<String> = chip
            .functions(output.pin)
            .into_iter()
            .filter(|name| *name != output.name)
            .collect();
        let row = format!(
            "  {:<12}{:<6}{:<7}{}",
            output.name,
            output.pin,
            timer.number,
            others.join(", ")
        );
        text += row.trim_end();
        text.push('\n');
    }
    let mut drawn: Vec<&[String]> = Vec::new();
    for package in chip.packages.iter().filter(|package| package.rows == 2) {
        if !drawn.contains(&package.legs.as_slice()) {
            text += &format!("\n{}", drawing(chip, package));
            drawn.push(&package.legs);
        }
    }
    text
}

/// Pins that can be PWM outputs, each once.
fn pwm_pins(chip: &Chip) -> Vec<Pin> {
    let mut pins: Vec<Pin> = chip.outputs().map(|(_, output)| output.pin).collect();
    pins.sort_unstable();
    pins.dedup();
    pins
}

fn fastest(chip: &Chip) -> String {
    chip.speed
        .last()
        .map_or_else(String::new, |grade| grade.hertz.to_string())
}

fn clocks(chip: &Chip) -> String {
    let clocks = &chip.clocks;
    let internal: Vec<String> = clocks
        .internal
        .iter()
        .map(|oscillator| oscillator.hertz.to_string())
        .collect();
    let mut text = format!("internal {}", internal.join(", "));
    if let (Some(first), Some(last)) = (clocks.crystal.first(), clocks.crystal.last()) {
        text += &format!("; crystal {} to {}", first.from, last.to);
    }
    text += "; external";
    if clocks.prescaler {
        text += "\n            each divided by 1 to 256";
    }
    text
}

/// Memory as a datasheet has it.
fn size(bytes: Bytes) -> String {
    match bytes.0 {
        0 => "-".to_string(),
        kilo if kilo >= 1024 && kilo.is_multiple_of(1024) => format!("{} KB", kilo / 1024),
        _ => bytes.to_string(),
    }
}

/// A package with two rows of legs, seen from above.
fn drawing(chip: &Chip, package: &Package) -> String {
    let half = package.legs.len() / 2;
    let text = |leg: &String| {
        leg.parse().map_or_else(
            |_| leg.clone(),
            |pin: Pin| {
                let outputs: Vec<String> = chip
                    .outputs_on(pin)
                    .iter()
                    .map(|(_, output)| output.name.clone())
                    .collect();
                if outputs.is_empty() {
                    leg.clone()
                } else {
                    format!("{leg} {}", outputs.join(" "))
                }
            },
        )
    };
    let left: Vec<String> = package.legs[..half].iter().map(text).collect();
    let right: Vec<String> = package.legs[half..].iter().rev().map(text).collect();
    let width = left.iter().map(String::len).max().unwrap_or(0);
    let alike = chip.packages.iter().filter(|one| one.legs == package.legs);
    let names: Vec<&str> = alike.map(|one| one.name.as_str()).collect();
    let names = names.join(", ");
    let mut rows = format!("  {:width$} ┌─────◡─────┐  {names}\n", "");
    for (at, (left, right)) in left.iter().zip(&right).enumerate() {
        let other = package.legs.len() - at;
        rows += &format!("  {left:>width$} ┤{:<3}     {other:>3}├ {right}\n", at + 1);
    }
    rows + &format!("  {:width$} └───────────┘\n", "")
}
