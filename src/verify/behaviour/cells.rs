//! The guard of the battery.

use super::rig::{leaving, play_on, tick};
use super::{Finding, Wrong, ensure};
use crate::design::Design;
use crate::input::cells::CellRules;
use crate::input::knob::PLAY;
use crate::target::SupplyPlan;
use crate::units::Volts;
use crate::verify::Outcome;
use crate::verify::bench::{Bench, Finger, Setup, Start};

const NO_GUARD: Outcome = Outcome::NotApplicable("there is no guard of the battery");

/// For how many seconds it is left alone once it has gone.
const ALONE: f64 = 3_600.0;

/// How long a press in vain lasts, in seconds.
const PRESS: f64 = 1.0;

/// What a guard makes of a supply, and how many ticks it takes to.
struct Guarded {
    rules: CellRules,
    /// Of as many looks as must agree.
    ticks: u32,
    plan: SupplyPlan,
}

impl Guarded {
    fn of(design: &Design) -> Option<Self> {
        Some(Self {
            rules: design.firmware.cells?,
            ticks: design.firmware.agree().0,
            plan: design.plan.converter.as_ref()?.supply?,
        })
    }

    /// A supply of which so much is measured, in the middle of that step.
    fn supply(&self, measured: u8) -> Volts {
        let [most, least] = [measured, measured + 1].map(|one| self.plan.volts(one)[1]);
        Volts((most.0 + least.0) / 2.0)
    }

    /// Ticks until the light has come to what is let through of it.
    fn settles(&self, design: &Design) -> u32 {
        self.ticks + (leaving(design) / tick(design)) as u32 + 10
    }
}

pub(super) fn run_down(setup: &Setup) -> Finding {
    let design = setup.design;
    let Some(guard) = Guarded::of(design) else {
        return Ok(NO_GUARD);
    };
    let limits = guard.rules.limits;
    let mut bench = setup.power_up(&Start::default())?;
    bench.feed(guard.supply(limits.dim - 1));
    ticks(&mut bench, 2 * guard.settles(design))?;
    let full = bench.model.gain();
    ensure(full.0 == u8::MAX, || {
        format!("on fresh cells {} of 255 are let through", full.0)
    })?;
    bench.feed(guard.supply(limits.dim));
    let begins = ticks_until(&mut bench, 2 * guard.ticks, |bench| {
        bench.model.gain() != full
    })?;
    ensure(begins.abs_diff(guard.ticks) <= 4, || {
        format!(
            "it dims after {begins} ticks of low cells, not {}",
            guard.ticks
        )
    })?;
    ticks(&mut bench, guard.settles(design))?;
    let dimmed = guard.rules.dimmed;
    // Cells that rest recover.
    bench.feed(setup.fresh_cells());
    ticks(&mut bench, guard.settles(design))?;
    let stays = bench.model.gain();
    ensure(
        stays.0.abs_diff(dimmed.0) <= u8::from(design.firmware.dim_knob().is_some()) * PLAY,
        || {
            format!(
                "on low cells {} of 255 are let through, not {}",
                stays.0, dimmed.0
            )
        },
    )?;
    bench.feed(guard.supply(limits.off));
    let fed = bench.seconds();
    let rest = bench.until_off(f64::from(2 * guard.settles(design)) * tick(design) + 10.0)?;
    let Some(rest) = rest else {
        return Err(Wrong::Seen("it does not go on spent cells".into()));
    };
    // Neither better cells nor a press bring it back.
    bench.feed(setup.fresh_cells());
    let now = bench.seconds();
    if design.firmware.button.is_some() {
        for press in [10.0, 20.0] {
            bench.close_at(now + press, Finger::Button, true);
            bench.close_at(now + press + PRESS, Finger::Button, false);
        }
    }
    let before = bench.machine.meters();
    bench.leave_off(ALONE)?;
    let after = bench.machine.meters();
    let woken = after.power_downs - before.power_downs;
    ensure(woken == 0, || format!("it was woken {woken} times"))?;
    let volts = |measured: u8| Volts((guard.supply(measured).0 * 100.0).round() / 100.0);
    Ok(Outcome::Holds(format!(
        "dims to {} of 255 at {}, goes at {} {:.1} s later, and stays so for {:.0} min of fresh cells and presses",
        dimmed.0,
        volts(limits.dim),
        volts(limits.off),
        bench.machine.seconds(rest.off.0) - fed,
        ALONE / 60.0
    )))
}

pub(super) fn sag(setup: &Setup) -> Finding {
    let Some(guard) = Guarded::of(setup.design) else {
        return Ok(NO_GUARD);
    };
    let mut bench = setup.power_up(&Start::default())?;
    ticks(&mut bench, guard.settles(setup.design))?;
    let rounds = 3;
    for _ in 0..rounds {
        bench.feed(guard.supply(guard.rules.limits.off));
        ticks(&mut bench, guard.ticks - 10)?;
        bench.feed(setup.fresh_cells());
        ticks(&mut bench, 10)?;
    }
    let through = bench.model.gain();
    ensure(through.0 == u8::MAX, || {
        format!("{} of 255 are let through", through.0)
    })?;
    Ok(Outcome::Holds(format!(
        "{rounds} times {:.2} s below both limits, with {:.2} s between: nothing dims",
        f64::from(guard.ticks - 10) * tick(setup.design),
        10.0 * tick(setup.design)
    )))
}

pub(super) fn changed(setup: &Setup) -> Finding {
    let Some(guard) = Guarded::of(setup.design) else {
        return Ok(NO_GUARD);
    };
    let mut bench = setup.power_up(&Start::default())?;
    bench.feed(guard.supply(guard.rules.limits.off));
    let patience = f64::from(4 * guard.settles(setup.design)) * tick(setup.design) + 10.0;
    ensure(bench.until_off(patience)?.is_some(), || {
        "it does not go on spent cells".into()
    })?;
    let start = Start {
        eeprom: bench.machine.eeprom().to_vec(),
        ..Start::default()
    };
    let mut bench = setup.power_up(&start)?;
    play_on(&mut bench, 2.0)?;
    ticks(&mut bench, 2 * guard.settles(setup.design))?;
    let through = bench.model.gain();
    ensure(through.0 == u8::MAX, || {
        format!("on new cells {} of 255 are let through", through.0)
    })?;
    Ok(Outcome::Holds("it plays on, with all of its light".into()))
}

fn ticks(bench: &mut Bench, ticks: u32) -> Result<(), Wrong> {
    for _ in 0..ticks {
        bench.next_tick()?;
    }
    Ok(())
}

/// How many ticks it takes until something is so, at most `most`.
fn ticks_until(bench: &mut Bench, most: u32, so: impl Fn(&Bench) -> bool) -> Result<u32, Wrong> {
    for tick in 0..most {
        if so(bench) {
            return Ok(tick);
        }
        bench.next_tick()?;
    }
    Ok(most)
}
