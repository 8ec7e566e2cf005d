//! The pace of a save.

use serde::Serialize;

use crate::conduct::beat::{FEWEST, MOST, MOST_TICKS, power};
use crate::plan::Tick;
use crate::units::{Bytes, Time};

/// The internal oscillator, which times the EEPROM, is within 10 % as delivered (datasheets).
const WRITE_MARGIN: f64 = 1.1;

/// A change is safe this much after the quiet time that the project wants, at the latest; where ticks are
/// so long that a byte in each of them takes longer, after that.
const SAVED_WITHIN: Time = Time::from_millis(300);

/// The pace of a save. Its steps are counted down to 0: those of quiet, then one byte each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Saving {
    /// Ticks from step to step: a power of two, no more than a beat has, and longer than the EEPROM
    /// takes for a byte.
    pub every: u32,
    /// Steps of quiet after a change, at least one: in the last the check byte starts anew.
    pub quiet: u16,
    /// Steps that write a byte each.
    pub writing: u16,
}

impl Saving {
    /// Bytes that a save writes after those of the state: the gap and the check byte.
    pub const LAST: u16 = 2;

    /// For so many bytes of state, each of which takes `write`. `after`: how long after a change
    /// they are saved, if changes are. `lag`: what a start of a scene takes at most, as far as it is made
    /// up for afterwards, in ticks that follow each other at once.
    pub fn new(tick: &Tick, state: Bytes, write: Time, after: Option<Time>, lag: Time) -> Self {
        let writing = state.0 as u16 + Self::LAST;
        let write = tick.count(write) * WRITE_MARGIN;
        let lag = tick.count(lag);
        let within = tick.count(SAVED_WITHIN) - write;
        let after = after.map_or(0.0, |after| tick.count(after));
        let swift = |every: f64| f64::from(writing) * every <= within;
        let fewest = if swift(f64::from(FEWEST)) { FEWEST } else { 1 };
        // A step that is due while a scene starts comes as late as the lag; the next one comes in time, and
        // must not come before the EEPROM is ready.
        let safe = power(fewest, MOST_TICKS, |every| every > write + lag);
        let every = power(safe, MOST_TICKS, |every| {
            after / every <= MOST || !swift(2.0 * every)
        });
        let steps = |time: f64| time / f64::from(every);
        let most = (steps(after + within).floor() - f64::from(writing)).max(1.0);
        Self {
            every,
            quiet: steps(after).ceil().clamp(1.0, most) as u16,
            writing,
        }
    }

    /// How long after a change it is safe at the latest, if it is wanted `after` so long, and each byte
    /// takes `write`.
    pub fn safe_within(self, tick: &Tick, after: Time, write: Time) -> Time {
        let steps = f64::from(self.after_change()) * f64::from(self.every);
        let last = write.0 as f64 * WRITE_MARGIN;
        let all = Time((steps * tick.seconds() * 1e9 + last).ceil() as u64);
        Time(after.0 + SAVED_WITHIN.0).max(all)
    }

    /// Steps of a save that begins as soon as can be.
    pub fn at_once(self) -> u16 {
        1 + self.writing
    }

    /// Steps of a save that follows a change.
    pub fn after_change(self) -> u16 {
        self.quiet + self.writing
    }

    /// Whether the steps are counted in two bytes.
    pub fn is_wide(self) -> bool {
        self.after_change() > 255
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Design;
    use crate::spec;

    const WRITE: Time = Time(3_400_000);

    /// A tick of so many microseconds, overflow by overflow at 31.25 kHz.
    fn tick(microseconds: u64) -> Tick {
        let text = format!(
            "chip: attiny85\nchannels: 1\ntick: {microseconds} us\npatterns: {{p: [{{set: 5 %}}]}}\n"
        );
        let open = |_: &std::path::Path| Ok(text.clone().into_bytes());
        let project = spec::read_with("tick.yaml".as_ref(), &open).expect("sound");
        Design::new(project).expect("one that fits").plan.tick
    }

    /// When ticks are done that are due one after the other, each of which takes `work`, if a start
    /// that takes `lag` comes in between. All in ticks.
    fn done(ticks: usize, start_at: usize, lag: f64, work: f64) -> Vec<f64> {
        let mut now = 0.0_f64;
        let one = |at| {
            now = now.max(at as f64) + work;
            let done = now;
            now += if at == start_at { lag } else { 0.0 };
            done
        };
        (0..ticks).map(one).collect()
    }

    /// Whatever a start makes late, no step of a save comes before the EEPROM has taken the byte of
    /// the step before it.
    #[test]
    fn no_byte_is_written_before_the_one_before_it() {
        for microseconds in [1_000, 2_000, 4_000, 5_000, 20_000] {
            let tick = tick(microseconds);
            for lag in [0, 3, 8, 20, 64].map(Time::from_millis) {
                let saving = Saving::new(&tick, Bytes(3), WRITE, None, lag);
                let every = saving.every as usize;
                let write = tick.count(WRITE) * WRITE_MARGIN;
                for start_at in 0..2 * every {
                    for work in [0.05, 0.9] {
                        let done = done(200, start_at, tick.count(lag), work);
                        let steps: Vec<f64> = done.into_iter().step_by(every).collect();
                        let gaps = steps.windows(2).map(|pair| pair[1] - pair[0]);
                        let least = gaps.fold(f64::INFINITY, f64::min);
                        assert!(
                            least >= write,
                            "a tick of {microseconds} us, a start of {lag}: {least} ticks apart"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn a_byte_in_each_tick_where_ticks_are_long() {
        let after = Time::from_millis(2_000);
        for (microseconds, every, late) in [(4_000, 4, 300), (20_000, 2, 300), (40_000, 1, 300)] {
            let tick = tick(microseconds);
            let saving = Saving::new(&tick, Bytes(5), WRITE, Some(after), Time(0));
            assert_eq!(saving.every, every, "{microseconds} us");
            let most = Time(after.0 + Time::from_millis(late).0);
            assert_eq!(saving.safe_within(&tick, after, WRITE), most);
        }
        let (tick, soon) = (tick(250_000), Time::from_millis(500));
        let saving = Saving::new(&tick, Bytes(5), WRITE, Some(soon), Time(0));
        let within = saving.safe_within(&tick, soon, WRITE);
        assert_eq!(saving.every, 1);
        // A step of quiet, seven bytes, and the last of them.
        assert!(
            (within.seconds() - 8.0 * 0.25 - 0.004).abs() < 0.001,
            "{within}"
        );
    }
}
