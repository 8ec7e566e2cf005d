//! What a lowered program does not need: jumps to jumps, and lines that nothing comes to.

use super::FROM_THE_START;
use crate::score::program::{Label, Line, Op};

/// The same program, shorter: it takes the same time, shows the same and makes the same draws.
pub(super) fn tidied(mut lines: Vec<Line>) -> Vec<Line> {
    shorten_jumps(&mut lines);
    without_unreachable(lines)
}

/// Jumps to a jump go where that one goes.
fn shorten_jumps(lines: &mut [Line]) {
    let end = |mut at: Label| {
        for _ in 0..lines.len() {
            match lines.get(at.0).map(|line| &line.op) {
                Some(Op::Goto { to }) => at = *to,
                _ => break,
            }
        }
        at
    };
    let ends: Vec<Label> = (0..=lines.len()).map(|at| end(Label(at))).collect();
    for line in lines {
        match &mut line.op {
            Op::Goto { to } if ends[to.0] == Label(0) => {
                *to = Label(0);
                line.note = FROM_THE_START.into();
            }
            Op::Goto { to } => *to = ends[to.0],
            Op::Branch { to } => to.iter_mut().for_each(|to| *to = ends[to.0]),
            _ => {}
        }
    }
}

fn without_unreachable(lines: Vec<Line>) -> Vec<Line> {
    let mut reached = vec![false; lines.len()];
    let mut open = vec![0];
    while let Some(at) = open.pop() {
        if at >= lines.len() || std::mem::replace(&mut reached[at], true) {
            continue;
        }
        match &lines[at].op {
            Op::Goto { to } => open.push(to.0),
            Op::Branch { to } => open.extend(to.iter().map(|to| to.0)),
            Op::Repeat { to, .. } => open.extend([to.0, at + 1]),
            _ => open.push(at + 1),
        }
    }
    let mut place = 0;
    let moved: Vec<Label> = reached
        .iter()
        .map(|reached| {
            let label = Label(place);
            place += usize::from(*reached);
            label
        })
        .collect();
    let mut kept: Vec<Line> = lines
        .into_iter()
        .zip(&reached)
        .filter_map(|(line, reached)| reached.then_some(line))
        .collect();
    for line in &mut kept {
        match &mut line.op {
            Op::Goto { to } | Op::Repeat { to, .. } => *to = moved[to.0],
            Op::Branch { to } => to.iter_mut().for_each(|to| *to = moved[to.0]),
            _ => {}
        }
    }
    kept
}
