//! What the chip can tell of its own supply, which it compares with a reference of its own.

use crate::chip::{Bandgap, BrownOut, Chip, families};
use crate::diagnostic::{Diagnostic, Notes};
use crate::spec::{Battery, Guard, Project};
use crate::units::{Share, Volts};

/// The reference of a chip, and what is measured of it at the limits of a guard.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SupplyPlan {
    /// At the least, typically, at the most; thrice the same where somebody measured it.
    pub reference: [Volts; 3],
    pub limits: Limits,
}

/// What is measured when the light is to dim and when it is to go: the reference as a share of the supply, in 256ths.
/// It rises as the supply falls.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    pub dim: u8,
    pub off: u8,
}

/// Steps of what is measured.
const STEPS: f64 = 256.0;

impl SupplyPlan {
    /// The reference, typically, as a share of a supply.
    pub fn measured(&self, supply: Volts) -> Share {
        Share(self.reference[1].0 / supply.0)
    }

    /// The supply at which so much is measured: with the least of references, typically, and with the most.
    pub fn volts(&self, measured: u8) -> [Volts; 3] {
        let steps = f64::from(measured.max(1));
        self.reference
            .map(|reference| Volts(reference.0 * STEPS / steps))
    }
}

/// How a guard's limits are measured. `None`: there is none, or they cannot be.
pub(super) fn choose(
    chip: &'static Chip,
    project: &Project,
    brown_out: Option<&BrownOut>,
    notes: &mut Notes,
) -> Option<(Bandgap, SupplyPlan)> {
    let guard = project.guard.as_ref()?;
    let battery = project.electrics.battery.as_ref()?;
    let converter = chip.converter.as_ref();
    let Some(bandgap) = converter.and_then(|converter| converter.bandgap) else {
        notes.add(without(chip, guard));
        return None;
    };
    let reference = guard.reference.map_or(bandgap.volts, |volts| [volts; 3]);
    let measured = |cell: Volts| {
        let supply = cell.0 * f64::from(battery.cells);
        // 255 is never reached by what still runs.
        (STEPS * reference[1].0 / supply).round().clamp(1.0, 254.0) as u8
    };
    let limits = Limits {
        dim: measured(guard.dim),
        off: measured(battery.cut_off),
    };
    if limits.off <= limits.dim {
        notes.add(alike(guard, battery));
    }
    if let Some(level) = brown_out.filter(|level| level.volts > battery.end()) {
        notes.add(too_late(guard, battery, level));
    }
    let plan = SupplyPlan { reference, limits };
    Some((bandgap, plan))
}

fn without(chip: &Chip, guard: &Guard) -> Diagnostic {
    let others = families(|other| {
        let converter = other.converter.as_ref();
        converter.is_some_and(|converter| converter.bandgap.is_some())
    });
    let message = format!("{} cannot measure its supply", chip.title);
    Diagnostic::error("C060", guard.span, message)
        .label("expected a chip that compares it with a reference of its own")
        .hint(format!("chips of these families do: {others}"))
}

fn alike(guard: &Guard, battery: &Battery) -> Diagnostic {
    let message = format!(
        "dimming at {} a cell and going at {} is the same to the chip",
        guard.dim, battery.cut_off
    );
    Diagnostic::error("C061", guard.span, message)
        .label("what it measures has 256 steps")
        .hint(format!(
            "set `dim` higher, such as to {}",
            Volts(((battery.cut_off.0 + battery.full.0) * 50.0).round() / 100.0)
        ))
}

fn too_late(guard: &Guard, battery: &Battery, level: &BrownOut) -> Diagnostic {
    let message = format!(
        "the brown-out detector acts before the guard: {} of supply are more than {}",
        level.volts,
        battery.end()
    );
    let cell = level.volts.0 / f64::from(battery.cells);
    let enough = Volts((cell * 105.0).ceil() / 100.0);
    let slower = "take a lower `brown_out`, or a slower `clock`, for which a lower one will do";
    let hint = match enough < battery.full {
        true => format!("set `off` to {enough} or more; or {slower}"),
        false => slower.to_string(),
    };
    Diagnostic::error("C061", guard.span, message)
        .label(format!("{} a cell", battery.cut_off))
        .hint(hint)
}
