//! What a run of the proof found otherwise than the one before it, in one line.

use std::fmt::Display;

use super::Evidence;

impl Evidence {
    /// What has changed since `before`: the verdict first, then what was measured.
    pub fn difference(&self, before: &Self) -> String {
        let verdict = match (before.holds(), self.holds()) {
            (true, true) => "still holds".to_string(),
            (false, true) => "holds again".to_string(),
            (true, false) => format!("no longer holds: {}", self.wrong()),
            (false, false) => format!("still fails: {}", self.wrong()),
        };
        let timing = |measure: fn(&super::TimingEvidence) -> i64| {
            let of = |evidence: &Self| evidence.timing.as_ref().map(measure);
            of(before).zip(of(self))
        };
        let size = |measure: fn(&super::SizeEvidence) -> u32| {
            Some((measure(&before.size).into(), measure(&self.size).into()))
        };
        let measured = [
            ("bytes of flash", size(|size| size.flash.found.0)),
            ("bytes of RAM", size(|size| size.ram.found.0)),
            (
                "cycles of the interrupt",
                timing(|timing| i64::from(timing.interrupt.longest.0)),
            ),
            (
                "bytes of stack",
                timing(|timing| i64::from(timing.stack.found.0)),
            ),
            (
                "patterns",
                Some((before.patterns.len() as i64, self.patterns.len() as i64)),
            ),
        ];
        let changes: Vec<String> = measured
            .into_iter()
            .filter_map(|(what, pair)| changed(what, pair?))
            .collect();
        if changes.is_empty() {
            format!("{verdict}; nothing measured has changed")
        } else {
            format!("{verdict}; {}", changes.join(", "))
        }
    }

    /// The first few things that are wrong.
    fn wrong(&self) -> String {
        let patterns = self.patterns.iter().filter(|pattern| !pattern.holds());
        let checks = self.checks.iter().filter(|check| !check.holds());
        let mut wrong: Vec<String> = patterns.map(|pattern| pattern.scene.clone()).collect();
        wrong.extend(checks.map(|check| check.claim.to_string()));
        if !self.size.flash.holds() || !self.size.ram.holds() {
            wrong.push("the size".to_string());
        }
        if self.timing.as_ref().is_some_and(|timing| !timing.holds()) {
            wrong.push("the timing".to_string());
        }
        if self.pump.as_ref().is_some_and(|pump| !pump.holds()) {
            wrong.push("the pump".to_string());
        }
        few(&wrong)
    }
}

fn changed(what: &str, (before, now): (i64, i64)) -> Option<String> {
    let by = now - before;
    (by != 0).then(|| format!("{now} {what} ({by:+})"))
}

/// The first three, and how many more there are.
fn few(all: &[impl Display]) -> String {
    const FIRST: usize = 3;
    let first: Vec<String> = all.iter().take(FIRST).map(ToString::to_string).collect();
    match all.len().saturating_sub(FIRST) {
        0 => first.join(", "),
        more => format!("{} and {more} more", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::{Bytes, Hertz};
    use crate::verify::{Check, Limit, Outcome, SizeEvidence};

    fn evidence(flash: u32, outcome: Outcome) -> Evidence {
        let size = |found, limit| Limit {
            found: Bytes(found),
            limit: Bytes(limit),
        };
        let claim = "a tap goes to the next scene";
        Evidence {
            project: "quay".to_string(),
            chip: "attiny2313a".to_string(),
            clock: Hertz(8e6),
            size: SizeEvidence {
                flash: size(flash, 2048),
                ram: size(30, 128),
            },
            patterns: Vec::new(),
            timing: None,
            pump: None,
            checks: vec![Check { claim, outcome }],
        }
    }

    #[test]
    fn a_difference_is_one_line() {
        let well = || Outcome::Holds("seen".to_string());
        let before = evidence(1700, well());
        assert_eq!(
            evidence(1700, well()).difference(&before),
            "still holds; nothing measured has changed"
        );
        assert_eq!(
            evidence(1690, well()).difference(&before),
            "still holds; 1690 bytes of flash (-10)"
        );
        let broken = evidence(1712, Outcome::Fails("nothing happens".to_string()));
        assert_eq!(
            broken.difference(&before),
            "no longer holds: a tap goes to the next scene; 1712 bytes of flash (+12)"
        );
        assert_eq!(
            before.difference(&broken),
            "holds again; 1700 bytes of flash (-12)"
        );
    }
}
