//! All that hangs on the chip, with its values, and what flows at given duties.

use serde::Serialize;

use super::pump::{BLEEDER, Pump};
use super::string::{Feed, StringDesign};
use crate::diagnostic::Span;
use crate::plan::Plan;
use crate::spec::{Battery, Electrics, LedString, PumpCircuit, Rail, Regulator};
use crate::units::{Amps, Ohms, Share, Volts};

/// The board's parts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Circuit {
    /// By channel; `None`: nothing is said of it.
    pub strings: Vec<Option<Hung>>,
    pub pump: Option<Pump>,
    /// Of the chip.
    pub volts: Volts,
}

/// A string and where it hangs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Hung {
    pub rail: Rail,
    /// Of the rail, with all strings lit.
    pub volts: Volts,
    pub string: StringDesign,
}

/// What flows, averaged over many periods of the PWM.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Flow {
    /// Through each channel's strings.
    pub strings: Vec<Amps>,
    /// Through each channel's pin, either way.
    pub pins: Vec<Amps>,
    pub pump: Option<PumpFlow>,
    /// Out of the supply: strings on it, bases, and what the pump takes; without the chip.
    pub supply: Amps,
    /// Out of the regulator's input, past the regulator.
    pub input: Amps,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PumpFlow {
    pub volts: Volts,
    pub load: Amps,
}

/// The regulator's input in the middle of its range.
pub fn input_volts(electrics: &Electrics) -> Option<Volts> {
    let regulator = electrics.supply.as_ref()?.regulator.as_ref()?;
    Some(middle(regulator))
}

fn middle(regulator: &Regulator) -> Volts {
    let (low, high) = regulator.input;
    Volts(f64::midpoint(low.0, high.0))
}

/// What the chip gets: 5 V where nothing is said of the supply.
pub fn chip_volts(electrics: &Electrics) -> Volts {
    let supply = electrics.supply.as_ref();
    supply.map_or(Volts(5.0), |supply| supply.volts.value)
}

/// The least that the chip gets: of a supply with its tolerance, or of a battery at its cut-off.
pub fn lowest_volts(electrics: &Electrics) -> Volts {
    let supply = electrics.supply.as_ref();
    let steady = supply.map_or(STEADY, |supply| supply.tolerance.0);
    let lowest = Volts(chip_volts(electrics).0 * (1.0 - steady));
    let regulated = supply.is_some_and(|supply| supply.regulator.is_some());
    let battery = electrics.battery.as_ref().filter(|_| !regulated);
    battery.map_or(lowest, Battery::end)
}

/// What in the project says how low the supply goes. `None`: nothing is said of it.
pub fn lowest_volts_said_at(electrics: &Electrics) -> Option<Span> {
    let supply = electrics.supply.as_ref()?;
    let battery = electrics.battery.as_ref();
    let unregulated = battery.filter(|_| supply.regulator.is_none());
    Some(unregulated.map_or(supply.volts.span, |battery| battery.span))
}

/// What a supply of which nothing is said may be off, either way (common practice, no source).
const STEADY: f64 = 0.05;

/// Resistance of the chip's pins at a supply, on the line through the chip's two figures.
pub fn pin_resistance(plan: &Plan, volts: Volts) -> Ohms {
    let figures = &plan.chip.electrical.output;
    let slope = (figures.at_5_volts.0 - figures.at_3_volts.0) / 2.0;
    Ohms((figures.at_5_volts.0 + slope * (volts.0 - 5.0)).max(figures.at_5_volts.0 / 2.0))
}

/// The pump at the plan's clock. `None`: there is no pump, or nothing is said of its parts.
pub fn pump(circuit: Option<&PumpCircuit>, volts: Volts, plan: &Plan) -> Option<Pump> {
    let circuit = circuit?;
    Some(Pump {
        stages: circuit.stages,
        supply: volts,
        capacitor: circuit.capacitor,
        reservoir: circuit.reservoir,
        clock: plan.drive.pump()?.clock,
        driver: Ohms(pin_resistance(plan, volts).0 + circuit.resistor.0),
        diode: circuit.diode.into(),
    })
}

/// The load that all strings on the pump ask for together.
pub fn pump_wish(electrics: &Electrics) -> Amps {
    let on_pump = electrics
        .strings
        .iter()
        .flatten()
        .filter(|string| string.from.value == Rail::Pump);
    Amps(
        on_pump
            .map(|string| string.current.value.0 * f64::from(string.parallel.value))
            .sum(),
    )
}

/// What a string is fed with.
pub fn feed(wanted: &LedString, electrics: &Electrics, pump: Option<&Pump>, plan: &Plan) -> Feed {
    let supply = electrics.supply.as_ref();
    let logic = chip_volts(electrics);
    let steady = supply.map(|supply| supply.tolerance);
    let around = |volts: Volts| steady.map_or(STEADY, |off| off.0) * volts.0;
    let regulator = supply.and_then(|supply| supply.regulator.as_ref());
    // Straight from a battery it falls until the cut-off.
    let battery = electrics.battery.as_ref();
    let end = battery
        .filter(|_| regulator.is_none())
        .map_or(logic, Battery::end);
    let low = end.0.min(logic.0 - around(logic));
    let logic_range = [Volts(low), Volts(logic.0 + around(logic))];
    let (volts, range) = match (wanted.from.value, regulator) {
        (Rail::Input, Some(regulator)) => {
            let (low, high) = regulator.input;
            (middle(regulator), [low, high])
        }
        (Rail::Pump, _) => {
            // Between short flashes the reservoir is as full as without a load.
            let at = |load| pump.map_or(logic, |pump| pump.output(load));
            let loaded = at(pump_wish(electrics));
            let open = pump.map_or(logic, Pump::open);
            (
                loaded,
                [
                    Volts(loaded.0 - around(loaded)),
                    Volts(open.0 + around(open)),
                ],
            )
        }
        (Rail::Supply | Rail::Input, _) => (logic, logic_range),
    };
    Feed {
        volts,
        range,
        pin: wanted
            .pin_resistance
            .unwrap_or_else(|| pin_resistance(plan, logic)),
        logic,
        logic_range,
    }
}

impl Circuit {
    /// Whether there is anything to say of currents.
    pub fn is_known(&self) -> bool {
        self.strings.iter().any(Option::is_some)
    }

    /// With all strings on the pump at the voltage that it gives when all of them are lit: resistors
    /// are rounded up, so it is higher than that for which they were chosen, and less than wanted
    /// flows.
    pub fn settled(mut self) -> Self {
        let lit = vec![Share(1.0); self.strings.len()];
        let Some(PumpFlow { volts, .. }) = self.flow(&lit).pump else {
            return self;
        };
        for hung in self.strings.iter_mut().flatten() {
            if hung.rail == Rail::Pump {
                hung.volts = volts;
                hung.string = hung.string.fed_with(volts);
            }
        }
        self
    }

    /// The same board with another string on a channel. `None`: its rail cannot light it.
    pub fn with_string(
        &self,
        channel: usize,
        wanted: &LedString,
        electrics: &Electrics,
        plan: &Plan,
    ) -> Option<Self> {
        let feed = feed(wanted, electrics, self.pump.as_ref(), plan);
        let hung = Hung {
            rail: wanted.from.value,
            volts: feed.volts,
            string: StringDesign::new(wanted, feed).ok()?,
        };
        let mut circuit = self.clone();
        circuit.strings[channel] = Some(hung);
        Some(circuit.settled())
    }

    /// The same parts on a supply that has come down, or up, to these volts.
    pub fn on_supply(&self, volts: Volts, plan: &Plan) -> Self {
        let pin = pin_resistance(plan, volts);
        let nominal = pin_resistance(plan, self.volts);
        let mut circuit = self.clone();
        circuit.volts = volts;
        if let Some(pump) = &mut circuit.pump {
            pump.supply = volts;
            pump.driver.0 += pin.0 - nominal.0;
        }
        for hung in circuit.strings.iter_mut().flatten() {
            if hung.rail == Rail::Supply {
                hung.volts = volts;
            }
            let own = hung.string.pin_resistance().0 * pin.0 / nominal.0;
            let driven = hung.string.driven_with(volts, Ohms(own));
            hung.string = driven.fed_with(hung.volts);
        }
        circuit.settled()
    }

    /// What flows when each channel is on for this share of the time.
    pub fn flow(&self, shares: &[Share]) -> Flow {
        let pump = self.pump.map(|pump| {
            let (volts, load) = pump.settle(|volts| self.pump_load(shares, volts));
            PumpFlow { volts, load }
        });
        let mut flow = Flow {
            strings: vec![Amps(0.0); shares.len()],
            pins: vec![Amps(0.0); shares.len()],
            pump,
            supply: Amps(0.0),
            input: Amps(0.0),
        };
        for (channel, (hung, share)) in self.strings.iter().zip(shares).enumerate() {
            let Some(hung) = hung else { continue };
            let volts = match hung.rail {
                Rail::Pump => pump.map_or(hung.volts, |pump| pump.volts),
                Rail::Supply | Rail::Input => hung.volts,
            };
            let through = Amps(hung.string.at(volts).0 * share.0);
            let base = hung.string.base.map_or(0.0, |base| base.current.0) * share.0;
            flow.strings[channel] = through;
            flow.pins[channel] = Amps(hung.string.pin.0 * share.0);
            flow.supply.0 += base;
            match hung.rail {
                Rail::Supply => flow.supply.0 += through.0,
                Rail::Input => flow.input.0 += through.0,
                Rail::Pump => {}
            }
        }
        if let (Some(pump), Some(flowing)) = (&self.pump, pump) {
            flow.supply.0 += pump.input(flowing.load).0;
        }
        flow
    }

    fn pump_load(&self, shares: &[Share], volts: Volts) -> Amps {
        let load = |(channel, hung): (usize, &Hung)| hung.string.at(volts).0 * shares[channel].0;
        let strings: f64 = self.on_pump().map(load).sum();
        Amps(strings + volts.0 / BLEEDER.0)
    }

    /// What hangs on the pump, with its channel.
    pub fn on_pump(&self) -> impl Iterator<Item = (usize, &Hung)> {
        let strings = self.strings.iter().enumerate();
        let hung = strings.filter_map(|(channel, hung)| Some((channel, hung.as_ref()?)));
        hung.filter(|(_, hung)| hung.rail == Rail::Pump)
    }
}
