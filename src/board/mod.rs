//! The board around the chip: strings, charge pump, supply and battery, and what the light may do to
//! the people who look at it.
//!
//! ```text
//! Project, Plan ─circuit→ Circuit (values, faults)
//! Design ─take→ Take (what the model plays) ─scene, change, modulation→ Board ─rows, text→ reports
//! ```
//!
//! Nothing here needs the project to say anything of its board: without, there are no currents, and
//! flicker, flashes and clock are judged all the same.

mod asleep;
mod change;
mod clock;
mod evening;
pub mod flash;
pub mod flicker;
mod lamp;
mod light;
mod modulation;
mod party;
mod power;
mod rows;
mod scene;
mod show;
mod stage;
mod take;
mod tally;
mod text;
mod watch;
pub mod wiring;
mod wobble;

use serde::Serialize;

use crate::circuit::pump::{BLEEDER, Doubt, Gentle, PinLoad, Pump, Window};
use crate::circuit::{Circuit, PumpFlow};
use crate::design::Design;
use crate::row::Row;
use crate::units::{Amps, Hertz, Ohms, Seconds, Share, Volts};
pub use flicker::Risk;
use flicker::{Component, low_risk_limit};
use stage::Stage;

pub use asleep::Asleep;
pub use change::ChangeReport;
pub use clock::{ClockTruth, Range};
pub use evening::{Drift, Evenings};
pub use lamp::{
    Guess, Known, Lamp, LampError, Off, Remedy, Shown, ideal, lamps, light_error, worst,
};
pub use light::{Duties, Shine};
pub use modulation::{FlickerReport, LevelFlicker};
pub use party::Party;
pub use power::{Draw, RegulatorReport, SpentReport, life, usable};
pub use scene::{SceneCurrents, SceneFlashes, SceneReport};
pub use show::ShowReport;
pub use take::{MINUTE, SEEDS, Take, takes};
pub use wiring::{Wiring, wiring};
pub use wobble::Wobble;

/// All there is to say of a project's board.
#[derive(Debug, Clone, Serialize)]
pub struct Board {
    pub clock: ClockTruth,
    /// By channel.
    pub channels: Vec<String>,
    pub circuit: Circuit,
    pub pump: Option<PumpReport>,
    /// In the order of the shows that use them.
    pub scenes: Vec<SceneReport>,
    /// Empty: nothing is said of the strings.
    pub shows: Vec<ShowReport>,
    pub supply: Option<SupplyReport>,
    /// `None`: there is no standby.
    pub asleep: Option<Asleep>,
    /// `None`: there are no evenings.
    pub evenings: Option<Evenings>,
    pub pins: Option<PinReport>,
    /// The light at the LED, of channels of which something is known.
    pub lamps: Vec<Lamp>,
    /// What ordinary parts would make of the others.
    pub guesses: Vec<Guess>,
    pub flicker: FlickerReport,
    /// `None`: there is only one scene, or none that passes by itself.
    pub changes: Option<ChangeReport>,
    /// Verdicts, as rows for the budget.
    #[serde(skip)]
    pub rows: Vec<Row>,
}

/// The pump with all its strings lit.
#[derive(Debug, Clone, Serialize)]
pub struct PumpReport {
    pub pump: Pump,
    pub open: Volts,
    /// At the stages' nodes, with nothing but the bleeder on it.
    pub nodes: Vec<Volts>,
    pub load: Amps,
    pub loaded: Volts,
    /// With the clock at its slowest and its fastest.
    pub over_clock: [Volts; 2],
    pub resistance: Ohms,
    pub ripple: Volts,
    pub start_up: Seconds,
    pub drive: PinLoad,
    /// What would keep the first charge within what a pin stands; `None`: it is.
    pub gentle: Option<Gentle>,
    pub window: Window,
    /// What makes these figures inexact; empty: within 3 % of a simulation.
    pub doubts: Vec<Doubt>,
}

/// What the supply carries.
#[derive(Debug, Clone, Serialize)]
pub struct SupplyReport {
    pub volts: Volts,
    /// With no string lit.
    pub dark: Amps,
    /// Out of the supply: of the scene that draws the most, on average.
    pub mean: Amps,
    /// In the PWM period with the most light of any scene.
    pub peak: Amps,
    pub limit: Option<Amps>,
    pub regulator: Option<RegulatorReport>,
    /// So all the time.
    pub dark_life: Option<Seconds>,
    /// Share of the battery's capacity that is used before it is cut off.
    pub usable: Option<Share>,
    /// When that is gone.
    pub spent: Option<SpentReport>,
}

/// What the chip's pins carry.
#[derive(Debug, Clone, Serialize)]
pub struct PinReport {
    /// By channel, while lit.
    pub channels: Vec<Amps>,
    /// All pins at one instant, the pump's included.
    pub together: Amps,
    /// What the chip takes besides.
    pub chip: Amps,
}

/// Everything about the project's board, from the model.
pub fn report(design: &Design) -> Board {
    let circuit = &design.circuit;
    let stage = Stage::new(design, circuit);
    let (scenes, takes): (Vec<SceneReport>, Vec<Take>) = scene::scenes(&stage).into_iter().unzip();
    let passes = |scene: usize| scenes[scene].flashes.failing == 0;
    let all_lit = circuit.flow(&vec![Share(1.0); design.project.channels.len()]);
    let shows = &design.deck.image.score.shows;
    let mut board = Board {
        clock: ClockTruth::new(&design.plan),
        channels: names(design),
        pump: pump_report(design, circuit, all_lit.pump),
        shows: shows
            .iter()
            .filter_map(|show| ShowReport::new(show, &scenes, &stage))
            .collect(),
        supply: supply_report(&stage, &scenes),
        asleep: Asleep::standby(design),
        evenings: None,
        pins: pin_report(circuit, &stage.draw, &scenes, all_lit.pump),
        lamps: lamp::lamps(design),
        guesses: lamp::guesses(design),
        flicker: FlickerReport::new(design, circuit, all_lit.pump),
        changes: change::changes(&stage, &takes, passes),
        scenes,
        rows: Vec::new(),
        circuit: circuit.clone(),
    };
    board.evenings = Evenings::new(design, &board.shows);
    board.rows = rows::rows(&board, design);
    board
}

/// How much the light flickers at its worst level, all strings lit.
pub fn flicker_risk(design: &Design) -> Risk {
    let lit = vec![Share(1.0); design.project.channels.len()];
    let pump = design.circuit.flow(&lit).pump;
    FlickerReport::new(design, &design.circuit, pump).risk
}

impl Board {
    /// As a person reads it.
    pub fn text(&self) -> String {
        text::text(self)
    }

    /// The scene that flashes most; those whose flashes nobody has accepted come first.
    pub fn busiest(&self) -> &SceneReport {
        self.scenes
            .iter()
            .max_by_key(|scene| {
                let flashes = &scene.flashes;
                let fails = flashes.failing > 0;
                (fails && !scene.accepted, fails, flashes.worst.flashes)
            })
            .expect("a project has a scene")
    }

    /// Whether a pattern may flash more than three times in a second.
    pub fn flashes(&self) -> bool {
        self.scenes.iter().any(|scene| scene.flashes.failing > 0)
    }
}

fn names(design: &Design) -> Vec<String> {
    let channels = design.project.channels.iter();
    channels.map(|channel| channel.name.value.clone()).collect()
}

fn pump_report(design: &Design, circuit: &Circuit, lit: Option<PumpFlow>) -> Option<PumpReport> {
    let (pump, flow) = (circuit.pump?, lit?);
    let load = flow.load;
    let least = circuit
        .on_pump()
        .map(|(_, hung)| hung.string.headroom(flow.volts).0)
        .fold(flow.volts.0, f64::min);
    let fastest = design.plan.drive.pwm().frequency.0 / 2.0;
    let clocks = (0..8).map(|halvings| Hertz(fastest / f64::from(1 << halvings)));
    let calm = |clock, ripple| {
        let component: Component = flicker::of_ripple(clock, ripple, Volts(least));
        component.modulation.0 <= low_risk_limit(clock).0
    };
    let at = |factor| {
        let clock = Hertz(pump.clock.0 * factor);
        Pump { clock, ..pump }.output(load)
    };
    Some(PumpReport {
        open: pump.open(),
        nodes: pump.nodes(Amps(pump.open().0 / BLEEDER.0)),
        load,
        loaded: flow.volts,
        over_clock: ClockTruth::new(&design.plan).factors().map(at),
        resistance: pump.output_resistance(),
        ripple: pump.ripple(load),
        start_up: pump.start_up(load),
        drive: pump.drive(load),
        gentle: pump.gentle(load, design.plan.chip.electrical.pin, Volts(least)),
        window: pump.window(load, clocks, calm),
        doubts: pump.doubts(load),
        pump,
    })
}

fn supply_report(stage: &Stage, scenes: &[SceneReport]) -> Option<SupplyReport> {
    let (circuit, draw) = (stage.circuit, &stage.draw);
    let electrics = &stage.design.project.electrics;
    let supply = electrics.supply.as_ref()?;
    let currents = || scenes.iter().filter_map(|scene| scene.currents.as_ref());
    let most = |of: &dyn Fn(&SceneCurrents) -> f64| currents().map(of).fold(0.0, f64::max);
    let mean = Amps(most(&|scene| draw.supply(&scene.mean).0));
    let dark = draw.dark();
    let quiet = Amps(draw.chip.0 + draw.other.0);
    let peak = most(&|scene| scene.supply_peak.0);
    let through = if circuit.is_known() { mean } else { quiet };
    Some(SupplyReport {
        volts: circuit.volts,
        dark,
        mean: through,
        peak: if circuit.is_known() {
            Amps(peak)
        } else {
            quiet
        },
        limit: supply.limit.map(|limit| limit.value),
        regulator: supply
            .regulator
            .as_ref()
            .map(|regulator| RegulatorReport::new(regulator, circuit.volts, through)),
        dark_life: electrics
            .battery
            .as_ref()
            .map(|battery| life(battery, |volts| stage.draw_at(volts).dark())),
        usable: electrics.battery.as_ref().map(usable),
        spent: electrics
            .battery
            .as_ref()
            .map(|battery| SpentReport::new(battery, stage)),
    })
}

fn pin_report(
    circuit: &Circuit,
    draw: &Draw,
    scenes: &[SceneReport],
    lit: Option<PumpFlow>,
) -> Option<PinReport> {
    let channels = scenes
        .iter()
        .find_map(|scene| scene.currents.as_ref())?
        .pins
        .clone();
    let strings = scenes
        .iter()
        .filter_map(|scene| scene.currents.as_ref())
        .map(|currents| currents.pins_together.0)
        .fold(0.0, f64::max);
    // One pin of the pump sources while the other sinks.
    let pumped = circuit
        .pump
        .zip(lit)
        .map_or(0.0, |(pump, flow)| pump.drive(flow.load).mean.0);
    Some(PinReport {
        channels,
        together: Amps(strings + pumped),
        chip: draw.chip,
    })
}
