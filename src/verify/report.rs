//! The evidence as a person reads it.

use std::fmt;

use super::{
    Check, Evidence, Limit, Outcome, PatternEvidence, PumpEvidence, SizeEvidence, TimingEvidence,
};

/// A line's mark: fine, wrong, or not for this project.
const FINE: &str = "ok  ";
const WRONG: &str = "FAIL";
const NONE: &str = "-   ";

fn mark(holds: bool) -> &'static str {
    if holds { FINE } else { WRONG }
}

impl fmt::Display for Evidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "{} on a simulated {} at {}",
            self.project, self.chip, self.clock
        )?;
        writeln!(f, "\nSize, as compiled\n{}", self.size)?;
        if !self.patterns.is_empty() {
            writeln!(f, "Scenes: chip against model, and light at the pins")?;
            for pattern in &self.patterns {
                write!(f, "{pattern}")?;
            }
            writeln!(f)?;
        }
        if let Some(timing) = &self.timing {
            writeln!(f, "Left alone for {:.0} s\n{timing}", timing.seconds)?;
        }
        if let Some(pump) = &self.pump {
            writeln!(f, "Charge pump\n{pump}")?;
        }
        if !self.checks.is_empty() {
            writeln!(f, "Behaviour")?;
            for check in &self.checks {
                write!(f, "{check}")?;
            }
            writeln!(f)?;
        }
        let verdict = if self.holds() {
            "Everything that was checked holds."
        } else {
            "Something is wrong: see the lines marked FAIL."
        };
        writeln!(f, "{verdict}")
    }
}

impl fmt::Display for SizeEvidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Limit { found, limit } = self.flash;
        writeln!(f, "  {} flash {found} of {limit}", mark(self.flash.holds()))?;
        let Limit { found, limit } = self.ram;
        writeln!(
            f,
            "  {} RAM {found} of {limit}, without the stack",
            mark(self.ram.holds())
        )
    }
}

impl fmt::Display for PatternEvidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "  {} {}: {} ticks alike in {:.1} s",
            mark(self.holds()),
            self.scene,
            self.ticks,
            self.seconds
        )?;
        if let Some(failure) = &self.failure {
            return writeln!(f, "       {failure}");
        }
        let cycles: u64 = self
            .channels
            .iter()
            .map(|channel| channel.light.cycles_of_phases)
            .sum();
        let dark: u64 = self.channels.iter().map(|channel| channel.light.dark).sum();
        let slowest = match self.slowest {
            Some(slowest) => format!("no light slower than {slowest}"),
            None => "no light long enough to tell its slowest part".to_string(),
        };
        writeln!(
            f,
            "       {cycles} sums of light right; {dark} periods dark, without a spike; {slowest}; \
             ticks {:.3} ms early to {:.3} ms late",
            -self.earliest.0, self.latest.0
        )
    }
}

impl fmt::Display for TimingEvidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(failure) = &self.failure {
            writeln!(f, "  {WRONG} {failure}")?;
        }
        let interrupt = &self.interrupt;
        writeln!(
            f,
            "  {} {} ticks, {:.4} a second; planned {:.4}; none more than {:.3} ticks off",
            mark(self.drift.abs() < 1.0),
            self.ticks,
            self.rate.0,
            self.planned_rate.0,
            self.drift.abs()
        )?;
        writeln!(
            f,
            "  {} interrupt: {} at most, {:.1} on average, {:.1} % of the processor with waking",
            mark(true),
            interrupt.longest,
            interrupt.mean,
            interrupt.share.0 * 100.0
        )?;
        writeln!(
            f,
            "  {} {} overflows missed; the interrupt waits {} at most, and may {}",
            mark(interrupt.missed == 0),
            interrupt.missed,
            interrupt.latest.found,
            interrupt.latest.limit
        )?;
        writeln!(
            f,
            "  {} asleep {:.1} % of the time",
            mark(true),
            self.asleep.0 * 100.0
        )?;
        writeln!(
            f,
            "  {} stack {} of {} free",
            mark(self.stack.holds()),
            self.stack.found,
            self.stack.limit
        )?;
        let bites = match self.watchdog {
            Some(time) => format!("the watchdog bites after {:.0} ms", time * 1e3),
            None => "there is no watchdog".to_string(),
        };
        writeln!(
            f,
            "  {} a scene takes {:.1} ms at most to start, {:.1} ms lost in all; {bites}",
            mark(self.watchdog.is_none_or(|time| self.scene_start < time)),
            self.scene_start * 1e3,
            self.lost * 1e3
        )?;
        for doubt in &self.doubts {
            writeln!(f, "  {WRONG} {doubt}")?;
        }
        Ok(())
    }
}

impl fmt::Display for PumpEvidence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(failure) = &self.failure {
            writeln!(f, "  {WRONG} {failure}")?;
        }
        writeln!(
            f,
            "  {} {}, planned {}; changes of both pins at most {} apart, {} alike; a change at most \
             {} early or late",
            mark(self.holds()),
            self.clock,
            self.planned,
            self.apart,
            self.alike,
            self.jitter
        )
    }
}

impl fmt::Display for Check {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (mark, text) = match &self.outcome {
            Outcome::Holds(text) => (FINE, text.as_str()),
            Outcome::Fails(text) => (WRONG, text.as_str()),
            Outcome::NotApplicable(text) => (NONE, *text),
        };
        writeln!(f, "  {mark} {}\n       {text}", self.claim)
    }
}
