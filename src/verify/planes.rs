//! The light of the port drive, frame by frame and to the cycle.
//!
//! When each plane is written is known from the writes to the port's latch, and what that comes to from the
//! edges at the pins. A frame must be of one code, whole: a pin is lit for exactly as long as the planes were out
//! in which that code has a bit. It is the code of the duty that was put out last before the interrupt looked
//! for a new frame, or of one that was being put out just then.

use std::collections::VecDeque;

use super::machine::{Access, AccessKind, Edge, Level, Moment, Pin};
use super::put::Puts;
use super::{LightFault, LightSeen};
use crate::drive::port::{Planes, Timed};
use crate::spec::Active;
use crate::units::Duty;

/// From the write of a frame's last plane to where the interrupt takes up a new one, in cycles, at most.
const TAKEN: u64 = 60;

/// By how much an interrupt that comes while the processor is awake may be earlier or later than one out of
/// sleep, in cycles: 4 that it takes to wake, and what keeps interrupts out.
const LATE: u32 = 24;

/// Follows one channel.
pub(super) struct PlaneLight {
    planes: Planes,
    /// Periods of the PWM in a frame.
    repeat: u32,
    /// The latch of its port.
    register: u16,
    pin: Pin,
    active: Active,
    driven: Moment,
    /// When the planes were written, from the first of a frame on; not yet judged.
    writes: VecDeque<Moment>,
    /// Whether those begin with a frame.
    aligned: bool,
    edges: VecDeque<Edge>,
    lit: bool,
    /// When the last plane of the frame before was written.
    looked: Option<Moment>,
    /// Duties, oldest first; no frame shows one before the first again.
    put: Puts,
    seen: LightSeen,
}

/// A frame as it was written.
struct Frame {
    start: Moment,
    /// How long each plane was out, in their order.
    parts: Vec<u32>,
    end: Moment,
    /// When the interrupt before it looked for it.
    looked: Moment,
}

impl PlaneLight {
    /// Follows a channel whose pin became an output when it was `driven`. Before its first duty it is dark.
    pub(super) fn new(planes: Planes, register: u16, pin: (Pin, Active), driven: Moment) -> Self {
        Self {
            planes,
            repeat: match planes.by {
                Timed::Slots => 1,
                Timed::Overflows => planes.overflows(),
            },
            register,
            pin: pin.0,
            active: pin.1,
            driven,
            writes: VecDeque::new(),
            aligned: false,
            edges: VecDeque::new(),
            lit: false,
            looked: None,
            put: Puts::dark(),
            seen: LightSeen::default(),
        }
    }

    /// A duty that was worked out from `begun` to `done`.
    pub(super) fn put(&mut self, begun: Moment, done: Moment, duty: Duty) {
        self.put.add(begun, done, duty);
    }

    /// Takes what happened during a tick that was worked out from `begun` to `done` and came to `duty`.
    pub(super) fn tick(
        &mut self,
        (writes, edges): (&[Access], &[Edge]),
        begun: Moment,
        done: Moment,
        duty: Duty,
    ) -> Result<(), (Moment, Duty, LightFault)> {
        let own = writes
            .iter()
            .filter(|write| write.register == self.register);
        let own = own.filter(|write| write.kind == AccessKind::Write);
        self.writes.extend(own.map(|write| write.at));
        self.edges
            .extend(edges.iter().filter(|edge| edge.pin == self.pin));
        while let Some(frame) = self.frame(begun) {
            self.judge(&frame)?;
        }
        self.put(begun, done, duty);
        Ok(())
    }

    /// The next whole frame that began to be looked for early enough.
    fn frame(&mut self, begun: Moment) -> Option<Frame> {
        let lengths: Vec<u32> = self.planes.order().map(|(_, cycles)| cycles.0).collect();
        if !self.aligned {
            self.align(&lengths);
        }
        if self.writes.len() <= lengths.len() || !self.aligned {
            return None;
        }
        let looked = match self.looked {
            Some(looked) if looked + TAKEN > begun => return None,
            looked => looked,
        };
        let times: Vec<Moment> = self
            .writes
            .iter()
            .take(lengths.len() + 1)
            .copied()
            .collect();
        self.writes.drain(..lengths.len());
        let parts: Vec<u32> = times
            .windows(2)
            .map(|pair| (pair[1] - pair[0]) as u32)
            .collect();
        self.looked = Some(times[lengths.len() - 1]);
        Some(Frame {
            start: times[0],
            end: times[lengths.len()],
            parts,
            looked: looked.unwrap_or(Moment(0)),
        })
    }

    /// Drops what comes before a frame's first plane: the shortest ones, which instructions time, follow it.
    fn align(&mut self, lengths: &[u32]) {
        let timed = usize::from(self.planes.lead()) + 2;
        while self.writes.len() > timed {
            let pairs = self.writes.iter().zip(self.writes.iter().skip(1));
            let mut gaps = pairs.map(|(one, next)| (*next - *one) as u32);
            if lengths[..timed]
                .iter()
                .all(|length| gaps.next() == Some(*length))
            {
                self.aligned = true;
                return;
            }
            let gone = self.writes.pop_front().unwrap_or(Moment(0));
            self.looked = Some(gone);
        }
    }

    /// Which of the duties a frame may be of.
    fn may_be(&self, looked: Moment) -> std::ops::Range<usize> {
        let known = self
            .put
            .0
            .iter()
            .take_while(|put| put.done <= looked)
            .count()
            .max(1);
        let later = self.put.0.iter().skip(known);
        match later.take_while(|put| put.begun < looked + TAKEN).count() {
            0 => known - 1..known,
            // What was put out last may have been taken back before it was looked for.
            later => 0..known + later,
        }
    }

    fn judge(&mut self, frame: &Frame) -> Result<(), (Moment, Duty, LightFault)> {
        let (lit, edges) = self.lit(frame);
        if frame.start < self.driven {
            return Ok(());
        }
        let may = self.may_be(frame.looked);
        let newest = self.put.0[may.end - 1].duty;
        let fault = |fault| Err((frame.start, newest, fault));
        let order = self.planes.order();
        for ((_, planned), part) in order.zip(&frame.parts) {
            let off = part.abs_diff(planned.0);
            if off > LATE {
                let counts = f64::from(*part);
                return fault(LightFault::Length { counts });
            }
            self.seen.late = self.seen.late.max(off);
        }
        let steady = may.len() == 1;
        let shown = may
            .clone()
            .find(|&at| self.of_code(frame, self.put.0[at].duty) == lit);
        let Some(shown) = shown else {
            let counts = f64::from(lit) / f64::from(self.planes.unit());
            return fault(LightFault::Period { counts });
        };
        self.put.0.drain(..shown);
        let duty = self.put.0[0].duty;
        self.seen.periods += 1;
        self.seen.lit += u64::from(lit);
        self.seen.elapsed += frame.end - frame.start;
        if steady {
            self.seen.steady += 1;
            self.seen.cycles_of_phases += 1;
            self.seen.longest_repeat = self.repeat;
        }
        if duty == Duty(0) {
            self.seen.dark += 1;
            if edges > 0 {
                return fault(LightFault::Glitch { edges });
            }
        }
        Ok(())
    }

    /// For how long a duty would be lit in a frame.
    fn of_code(&self, frame: &Frame, duty: Duty) -> u32 {
        let code = self.planes.code(duty);
        let order = self.planes.order().zip(&frame.parts);
        let lit = order.filter(|((plane, _), _)| code >> plane & 1 != 0);
        lit.map(|(_, part)| part).sum()
    }

    /// For how many cycles of a frame the pin is lit, and how often it changes after its start.
    fn lit(&mut self, frame: &Frame) -> (u32, u32) {
        let (mut sum, mut edges, mut since) = (0, 0, frame.start);
        while let Some(edge) = self
            .edges
            .front()
            .copied()
            .filter(|edge| edge.at < frame.end)
        {
            self.edges.pop_front();
            if edge.at > frame.start {
                edges += 1;
                sum += if self.lit { edge.at - since } else { 0 };
                since = edge.at;
            }
            self.lit = match self.active {
                Active::High => edge.level == Level::High,
                Active::Low => edge.level == Level::Low,
            };
        }
        sum += if self.lit { frame.end - since } else { 0 };
        (sum as u32, edges)
    }

    pub(super) fn seen(&self) -> LightSeen {
        self.seen
    }
}
