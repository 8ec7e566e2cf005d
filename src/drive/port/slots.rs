//! The timer that times the slots.

use super::FIRST_SLOT;
use crate::chip::{Bits, Chip, Event, Reach, Timer};
use crate::drive::timer::{StartPlan, TimerPlan};
use crate::target::{Write, register};

/// Slots are counted in so many cycles.
pub(super) const PRESCALER: u16 = 8;
/// The counts of the first slot, less one, which is what its timer is compared with.
pub(super) const FIRST: u8 = (FIRST_SLOT / PRESCALER as u32 - 1) as u8;

/// A timer that clears itself where it matches a register.
pub(super) struct SlotTimer {
    pub timer: &'static Timer,
    clear: &'static Bits,
    pub matched: &'static Event,
    /// `OCR0A`.
    pub compare: &'static str,
}

fn named(names: &[String]) -> Vec<&str> {
    names.iter().map(String::as_str).collect()
}

/// The first timer that can and that nobody else has; the interrupt reaches its register by `out`.
pub(super) fn choose(chip: &'static Chip, is_free: impl Fn(&Timer) -> bool) -> Option<SlotTimer> {
    clearing(chip, is_free).find(|slots| register(chip, slots.compare).1.reach() != Reach::Memory)
}

/// All that clear themselves and that nobody else has.
pub(super) fn clearing(
    chip: &'static Chip,
    is_free: impl Fn(&Timer) -> bool,
) -> impl Iterator<Item = SlotTimer> {
    let timers = chip.timers.iter().filter(move |timer| is_free(timer));
    timers.filter_map(move |timer| {
        let (clear, matched) = (timer.clear.as_ref()?, timer.matched.as_ref()?);
        let (compare, _) = register(chip, timer.compare.as_ref()?);
        timer
            .prescalers
            .contains_key(&PRESCALER)
            .then_some(SlotTimer {
                timer,
                clear,
                matched,
                compare,
            })
    })
}

impl SlotTimer {
    /// What is written into its registers, and what then gives it its clock; `top`: where it is cleared at first, and
    /// `preset`: where it starts.
    pub(super) fn set_up(
        &self,
        chip: &'static Chip,
        top: u8,
        preset: u8,
    ) -> (TimerPlan, StartPlan) {
        let timer = self.timer;
        let values = timer.values.iter();
        let mut setup: Vec<Write> = values
            .map(|(register, value)| Write::number(chip, register, *value))
            .collect();
        setup.push(Write::number(chip, self.compare, top));
        // Whatever its outputs were connected to, they no longer are.
        let outputs = timer.outputs.iter();
        let controls = outputs.flat_map(|output| output.registers());
        let mut control: Bits = controls.map(|name| (name.clone(), Vec::new())).collect();
        control.extend(self.clear.clone());
        let clock = &timer.clock_register;
        let mut go = control.remove(clock).unwrap_or_default();
        go.extend(timer.prescalers[&PRESCALER].iter().cloned());
        let controls = control.iter();
        setup.extend(controls.map(|(register, bits)| Write::bits(chip, register, &named(bits))));
        let plan = TimerPlan {
            number: timer.number,
            full_at_zero: timer.full_at_zero,
            setup,
            preset: Write::number(chip, &timer.counter, preset),
        };
        let start = StartPlan {
            reset: None,
            go: vec![Write::bits(chip, clock, &named(&go))],
        };
        (plan, start)
    }
}
