//! What the whole board draws, and what that does to supply, regulator and battery.

use serde::Serialize;

use super::stage::Stage;
use crate::circuit::root::between;
use crate::circuit::{Flow, measured_current};
use crate::light::cie::lightness;
use crate::plan::Plan;
use crate::spec::{Battery, Project, Regulator};
use crate::units::{
    Amps, DeltaLightness, Lightness, Luminance, Ohms, Seconds, Share, Volts, Watts,
};

/// What is drawn besides the strings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Draw {
    /// The chip itself: an estimate, on the high side.
    pub chip: Amps,
    pub other: Amps,
    /// What the regulator itself takes.
    pub quiescent: Amps,
}

/// Processor cycles a tick for each channel, and besides: estimates on the high side.
const CYCLES_A_CHANNEL: f64 = 250.0;
const CYCLES_A_TICK: f64 = 300.0;
/// The clock and the voltage that the chips' figures are for.
const AT_HERTZ: f64 = 8e6;
const AT_VOLTS: f64 = 5.0;

impl Draw {
    pub fn new(project: &Project, plan: &Plan, volts: Volts) -> Self {
        let supply = project.electrics.supply.as_ref();
        let regulator = supply.and_then(|supply| supply.regulator.as_ref());
        Self {
            chip: chip(plan, volts),
            other: Amps(
                supply.map_or(0.0, |supply| supply.other.0) + measured_current(project, volts).0,
            ),
            quiescent: regulator.map_or(Amps(0.0), |regulator| regulator.quiescent),
        }
    }

    /// Out of the supply.
    pub fn supply(&self, flow: &Flow) -> Amps {
        Amps(flow.supply.0 + self.chip.0 + self.other.0)
    }

    /// Out of whatever feeds the board: the regulator's input, where there is one.
    pub fn total(&self, flow: &Flow) -> Amps {
        Amps(self.supply(flow).0 + flow.input.0 + self.quiescent.0)
    }

    /// With no string lit.
    pub fn dark(&self) -> Amps {
        Amps(self.chip.0 + self.other.0 + self.quiescent.0)
    }
}

/// Awake in the interrupt and for every tick, idle in between; both in proportion to clock and volts.
fn chip(plan: &Plan, volts: Volts) -> Amps {
    let electrical = &plan.chip.electrical;
    let cycles = plan.clock.frequency.0;
    let interrupts = f64::from(plan.drive.cost().with_waking().0) * plan.drive.pwm().frequency.0;
    let work = CYCLES_A_TICK + CYCLES_A_CHANNEL * plan.drive.channels().len() as f64;
    let awake = ((interrupts + work * plan.tick.rate.0) / cycles).min(1.0);
    let scale = cycles / AT_HERTZ * volts.0 / AT_VOLTS;
    let converter = plan.chip.converter.as_ref();
    let converter = converter.filter(|_| plan.converter.is_some());
    let converter = converter.map_or(0.0, |one| one.draws.0 * volts.0 / AT_VOLTS);
    let core = awake * electrical.active.0 + (1.0 - awake) * electrical.idle.0;
    Amps(scale * core + converter)
}

/// A linear regulator at work.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RegulatorReport {
    /// At the highest input and the scene that draws the most on average.
    pub heat: Watts,
    pub rating: Watts,
    /// What is left above the dropout at the lowest input.
    pub headroom: Volts,
}

impl RegulatorReport {
    /// When this much goes through it.
    pub fn new(regulator: &Regulator, output: Volts, through: Amps) -> Self {
        let input = regulator.input.1.0;
        Self {
            heat: Watts((input - output.0) * through.0 + input * regulator.quiescent.0),
            rating: regulator.rating,
            headroom: Volts(regulator.input.0.0 - output.0 - regulator.dropout.0),
        }
    }
}

/// What is left of these volts behind a resistance, when `current` is drawn at what is left.
fn under_load(open: Volts, resistance: Ohms, current: impl Fn(Volts) -> Amps) -> Volts {
    if resistance.0 == 0.0 {
        return open;
    }
    let missing = |volts: f64| open.0 - resistance.0 * current(Volts(volts)).0 - volts;
    Volts(between(0.0, open.0, missing))
}

/// Cells that are spent.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpentReport {
    /// What they lose of their voltage within themselves while the most is drawn; zero where nothing is
    /// known of them.
    pub sag: Volts,
    /// What they still give then.
    pub volts: Volts,
    /// The channel that loses most of its light from full cells to spent ones, and the lightness that
    /// is left of 100, all strings lit. `None`: nothing is said of strings, or the supply is regulated.
    pub dimmest: Option<(usize, Lightness)>,
    /// What the cells' own resistance takes of the light of the string that minds it most, full and
    /// spent. `None`: likewise, or nothing is known of them.
    pub sagging: Option<(usize, [DeltaLightness; 2])>,
}

impl SpentReport {
    pub(super) fn new(battery: &Battery, stage: &Stage) -> Self {
        let circuit = stage.circuit;
        let lit = vec![Share(1.0); circuit.strings.len()];
        let draw = |volts| stage.total_at(volts, &lit);
        let at = |cell: Volts, left: Share| {
            let open = Volts(cell.0 * f64::from(battery.cells));
            (open, under_load(open, battery.resistance(left), draw))
        };
        let spent = Share(1.0 - usable(battery).0);
        let (open, volts) = at(battery.cut_off, spent);
        let (fresh, full) = at(battery.full, Share(1.0));
        let strings = |battery| stage.circuit_at(battery).flow(&lit).strings;
        let lights = [fresh, full, open, volts].map(strings);
        let [ideal, full, ideal_end, end] = &lights;
        let left = |more: &[Amps], less: &[Amps], channel: usize| {
            lightness(Luminance(less[channel].0 / more[channel].0))
        };
        let lit = || (0..full.len()).filter(|&channel| full[channel].0 > 0.0);
        let dimmest = lit().map(|channel| (channel, left(full, end, channel)));
        let sagging = lit().map(|channel| {
            let lost = [(ideal, full), (ideal_end, end)];
            let lost = lost.map(|(more, less)| DeltaLightness(100.0 - left(more, less, channel).0));
            (channel, lost)
        });
        let most = |lost: &[DeltaLightness; 2]| lost[0].0.max(lost[1].0);
        Self {
            sag: Volts(open.0 - volts.0),
            volts,
            dimmest: dimmest
                .filter(|_| stage.falls())
                .min_by(|a, b| a.1.0.total_cmp(&b.1.0)),
            sagging: sagging
                .filter(|_| stage.falls() && battery.kind.is_some())
                .max_by(|a, b| most(&a.1).total_cmp(&most(&b.1))),
        }
    }
}

const YEAR: f64 = 365.25 * 86_400.0;

/// What part of a battery's capacity is gone when its cells are down to the cut-off, if their voltage
/// falls evenly from full to empty.
pub fn usable(battery: &Battery) -> Share {
    let range = battery.full.0 - battery.empty.0;
    Share(((battery.full.0 - battery.cut_off.0) / range).clamp(0.0, 1.0))
}

/// The charge is looked at in so many parts, each at the voltage in its middle.
const PARTS: u32 = 32;

/// How long a battery feeds what draws `current` at its volts, all cells in series; their voltage
/// falls evenly with the charge from full to empty, as in [`usable`].
///
/// The charge Q obeys dQ/dt = −I − k · Q, where k is what is lost by itself; hence, while I stays,
/// t = ln((I + k · Q_begin) / (I + k · Q_end)) / k.
pub fn life(battery: &Battery, current: impl Fn(Volts) -> Amps) -> Seconds {
    let full = battery.capacity.0 * 3600.0;
    let k = -(1.0 - battery.self_discharge.0).ln() / YEAR;
    let drawn = full * usable(battery).0 / f64::from(PARTS);
    let parts = (0..PARTS).map(|part| {
        let left = |parts: f64| full - drawn * parts;
        let charge = left(f64::from(part) + 0.5) / full;
        let cell = battery.empty.0 + (battery.full.0 - battery.empty.0) * charge;
        let open = Volts(cell * f64::from(battery.cells));
        let volts = under_load(open, battery.resistance(Share(charge)), &current);
        let current = current(volts).0;
        // Next to nothing is lost: the formula's limit.
        if k * full < 1e-9 * current {
            return drawn / current;
        }
        let end = left(f64::from(part + 1));
        (k * drawn / (current + k * end)).ln_1p() / k
    });
    Seconds(parts.sum())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::Span;
    use crate::spec::CellKind;
    use crate::units::AmpHours;

    fn battery(cut_off: f64, lost: f64) -> Battery {
        Battery {
            span: Span::default(),
            cells: 3,
            kind: None,
            full: Volts(1.6),
            empty: Volts(0.8),
            capacity: AmpHours(2.4),
            cut_off: Volts(cut_off),
            self_discharge: Share(lost),
        }
    }

    #[test]
    fn without_loss_it_is_capacity_over_current() {
        let life = life(&battery(0.8, 0.0), |_| Amps(0.024));
        assert!((life.0 / 3600.0 - 100.0).abs() < 1e-9);
    }

    /// By hand: 3 V behind 100 ohm on 200 ohm leave 2 V.
    #[test]
    fn a_load_pulls_a_cell_down() {
        let left = under_load(Volts(3.0), Ohms(100.0), |volts| Amps(volts.0 / 200.0));
        assert!((left.0 - 2.0).abs() < 1e-9);
        let open = under_load(Volts(3.0), Ohms(0.0), |_| Amps(1.0));
        assert_eq!(open, Volts(3.0));
    }

    /// A resistor takes less from a cell that resists, which then lasts longer; what takes the same at
    /// every voltage does not.
    #[test]
    fn what_a_cell_loses_within_itself_is_not_drawn() {
        let mut coin = battery(0.8, 0.0);
        let ideal = life(&coin, |volts| Amps(volts.0 / 200.0));
        coin.kind = Some(CellKind::Cr2032);
        let real = life(&coin, |volts| Amps(volts.0 / 200.0));
        assert!(real.0 > 1.15 * ideal.0, "{real:?} {ideal:?}");
        assert_eq!(
            life(&coin, |_| Amps(0.01)),
            life(&battery(0.8, 0.0), |_| Amps(0.01))
        );
    }

    #[test]
    fn half_the_voltage_range_is_half_the_capacity() {
        assert!((usable(&battery(1.2, 0.0)).0 - 0.5).abs() < 1e-9);
        let half = life(&battery(1.2, 0.0), |_| Amps(0.024));
        assert!((half.0 / 3600.0 - 50.0).abs() < 1e-6);
    }

    /// Left alone, it loses its share in just a year.
    #[test]
    fn a_battery_left_alone_loses_its_share_in_a_year() {
        let mut one = battery(0.8, 0.1);
        one.cut_off = Volts(1.6 - 0.1 * 0.8);
        let life = life(&one, |_| Amps(1e-12));
        assert!((life.0 / YEAR - 1.0).abs() < 1e-6, "{}", life.0 / YEAR);
    }

    #[test]
    fn loss_shortens_life() {
        let current = Amps(2.4 / 8766.0);
        let without = life(&battery(0.8, 0.0), |_| current);
        let with = life(&battery(0.8, 0.1), |_| current);
        // A year's current and a tenth lost on the way: by hand, ln(1 + k) / k with k = 0.10536.
        assert!((with.0 / without.0 - (1.105_360_5_f64).ln() / 0.105_360_5).abs() < 1e-4);
    }

    /// A resistor on cells whose voltage falls evenly with their charge: dQ/dt = −V / R with
    /// V = V_full − (V_full − V_empty) · (1 − Q / Q_full), worked by hand to
    /// t = Q_full · R / (V_full − V_empty) · ln(V_full / V_end).
    #[test]
    fn a_resistor_draws_less_as_the_voltage_falls() {
        let battery = battery(0.8, 0.0);
        let life = life(&battery, |volts| Amps(volts.0 / 100.0));
        let by_hand = 2.4 * 3600.0 * 100.0 / (3.0 * 0.8) * 2f64.ln();
        assert!((life.0 / by_hand - 1.0).abs() < 1e-4, "{life} {by_hand}");
    }
}
