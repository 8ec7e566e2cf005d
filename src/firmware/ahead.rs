//! How channels that start further on come to where they belong.

use crate::plan::Plan;
use crate::score::{Image, Op, Program, Run};

/// A tick of a line by which one channel is run ahead, and each level that it moves: counted in the
/// player's text.
const CYCLES_A_TICK: f64 = 22.0;
const CYCLES_A_LEVEL: f64 = 19.0;
const MOST_LEVELS: f64 = 255.0;

/// Lines that a channel is past are skipped. Whether how far it is in the last one is computed, too:
/// where running through that tick by tick could take longer than a tick, all channels together.
pub fn computes_parts(plan: &Plan, image: &Image) -> bool {
    let run = |run: &Run| -> f64 {
        let program = &image.score.programs[run.program];
        let ticks = (0..run.channels).map(|channel| part(program, run.ahead_of(channel).0));
        ticks
            .map(f64::from)
            .map(|ticks| ticks * CYCLES_A_TICK + ticks.min(MOST_LEVELS) * CYCLES_A_LEVEL)
            .sum()
    };
    let starts = image.starts.iter().map(|runs| runs.iter().map(run).sum());
    let cycles = starts.fold(0.0, f64::max);
    let left = 1.0 - plan.drive.cost().share(plan.drive.pwm().cycles());
    cycles > plan.tick.seconds() * plan.clock.frequency.0 * left
}

/// The ticks that are left of a head start once whole lines are passed, at most.
fn part(program: &Program, ahead: u32) -> u32 {
    let longest = program.longest_line().0;
    passed(program, ahead).map_or(ahead.min(longest), |passed| passed.left)
}

/// What a head start comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passed {
    /// Lines that are passed.
    pub lines: u32,
    /// Ticks that are left in the one after them.
    pub left: u32,
}

/// Where a head start leads to, if nothing is drawn or counted on the way.
pub fn passed(program: &Program, ahead: u32) -> Option<Passed> {
    let mut passed = Passed {
        lines: 0,
        left: ahead,
    };
    let mut at = 0;
    // Nothing is passed more often than there are ticks, but for jumps between them.
    for _ in 0..=2 * u64::from(ahead) + 1 {
        match &program.lines[at].op {
            Op::Fade { length, .. } | Op::Jump { length, .. } | Op::Wait { length }
                if length.fraction == 0 =>
            {
                let Some(left) = passed.left.checked_sub(length.ticks.0) else {
                    return Some(passed);
                };
                passed.left = left;
                passed.lines += 1;
                at += 1;
            }
            Op::Goto { to } => at = to.0,
            _ => return None,
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::Design;
    use crate::spec;

    fn design(steps: &str) -> Design {
        let text = format!(
            "chip: attiny85\nchannels: 1\ntick: 5 ms\npatterns: {{p: {{ahead: 1 s, steps: [{steps}]}}}}\n"
        );
        let open = |_: &std::path::Path| Ok(text.clone().into_bytes());
        let project = spec::read_with("ahead.yaml".as_ref(), &open).expect("sound");
        Design::new(project).expect("one that fits")
    }

    #[test]
    fn lines_are_passed_to_where_the_head_start_ends() {
        let design = design("{to: 100 %, over: 700 ms}, {to: 0 %, over: 200 ms}, {hold: 100 ms}");
        let program = &design.deck.image.score.programs[0];
        let at = |ahead| passed(program, ahead).map(|passed| (passed.lines, passed.left));
        assert_eq!(at(0), Some((0, 0)));
        assert_eq!(at(139), Some((0, 139)));
        assert_eq!(at(140), Some((1, 0)));
        assert_eq!(at(200), Some((3, 0)));
        assert_eq!(at(2 * 200 + 150), Some((7, 10)));
    }

    #[test]
    fn what_is_drawn_leads_nobody_knows_where() {
        let design = design("{to: 100 %, over: 100 ms .. 200 ms}, {to: 0 %, over: 200 ms}");
        assert_eq!(passed(&design.deck.image.score.programs[0], 150), None);
    }
}
