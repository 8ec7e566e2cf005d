//! Bit-angle modulation: how a frame is made of planes, and what a pin does meanwhile.

use crate::drive::Pulse;
use crate::units::{Cycles, Duty};

/// The planes of a frame. Plane `n` shows bit `n` of every channel's code for `2^n` units. Those of a timed
/// slot each are the longest; the shortest are shown within the first slot, by instructions that are timed to
/// the cycle:
///
/// ```text
/// first slot: [ lead 32 cycles ][ 0 ][ 1 ] … [ highest ][ tail 64 ], 128 cycles; then a slot for each other plane
/// ```
///
/// A unit more than the planes have is left over in the first slot. It goes to the highest plane, so that the
/// whole frame is lit at full light, and no cycle of it in the dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Planes {
    /// Bits of a code.
    pub bits: u8,
    /// How many ports are written, one after the other, which takes a cycle each.
    pub ports: u8,
}

/// The cycles of the first slot, its lead and its tail.
pub const FIRST_SLOT: u32 = 128;
const LEAD: u32 = 32;
const TAIL: u32 = 64;

/// With fewer there would be next to no timed slot.
const LEAST_BITS: u8 = 8;
/// The longest slot that the timer counts, in cycles, is half a frame.
const MOST_CYCLES: u8 = 12;

impl Planes {
    /// The deepest that writing so many ports allows.
    pub fn deepest(ports: u8) -> Self {
        let bits = MOST_CYCLES - (ports - 1);
        Self { bits, ports }
    }

    /// With a bit less, a frame takes half as long. `None`: not worth a frame.
    pub fn shallower(self) -> Option<Self> {
        let bits = self.bits - 1;
        (bits >= LEAST_BITS).then_some(Self { bits, ..self })
    }

    /// All depths with so many ports, the deepest first.
    pub fn depths(ports: u8) -> impl Iterator<Item = Self> {
        std::iter::successors(Some(Self::deepest(ports)), |planes| planes.shallower())
    }

    /// Cycles of a unit: of plane 0.
    pub fn unit(self) -> u32 {
        u32::from(self.ports)
    }

    /// Cycles of a frame.
    pub fn frame(self) -> Cycles {
        Cycles(self.unit() << self.bits)
    }

    /// The plane that comes first, for as long as the interrupt takes to get the shortest ones.
    pub fn lead(self) -> u8 {
        (LEAD / self.unit()).ilog2() as u8
    }

    /// The plane that ends the first slot.
    pub fn tail(self) -> u8 {
        (TAIL / self.unit()).ilog2() as u8
    }

    /// The plane that is shown for half of a frame.
    pub fn top(self) -> u8 {
        self.bits - 1
    }

    /// Slots of a frame.
    pub fn slots(self) -> u32 {
        u32::from(self.bits - self.tail())
    }

    /// What a slot is told by: the first has 0, the others the counts that they last, less one, of a timer
    /// that counts every 8th cycle. This bit is set in what comes after the last one.
    pub fn beyond(self) -> u32 {
        self.frame().0.ilog2() - 4
    }

    /// The code of a duty: its bits, and a share of them more, so that full light has them all.
    pub fn code(self, duty: Duty) -> u16 {
        let duty = u32::from(duty.0 & self.mask());
        ((duty + (duty >> 8)) >> (16 - self.bits)) as u16
    }

    /// The bits of a duty that count.
    pub fn mask(self) -> u16 {
        0xFFFF << (16 - self.bits)
    }

    /// The duty of a code.
    pub fn duty(self, code: u16) -> Duty {
        Duty((code - code / 257) << (16 - self.bits))
    }

    /// For how many cycles of a frame a code is lit.
    pub fn lit(self, code: u16) -> Cycles {
        let more = code >> self.top();
        Cycles(u32::from(code + more) * self.unit())
    }

    /// What is shown, and for how many cycles, in the order of a frame: a plane each.
    pub fn order(self) -> impl Iterator<Item = (u8, Cycles)> {
        let weighed = move |plane| (plane, Cycles(self.unit() << plane));
        let first = [self.lead()].into_iter().chain(0..self.lead());
        let slots = (self.tail()..self.bits).map(weighed);
        first
            .map(weighed)
            .chain([(self.top(), Cycles(self.unit()))])
            .chain(slots)
    }

    /// The course of a pin over a frame, from where it is lit on.
    pub fn shown(self, duty: Duty) -> Vec<Pulse> {
        let code = self.code(duty);
        let mut parts: Vec<(bool, u32)> = Vec::new();
        for (plane, Cycles(length)) in self.order() {
            let lit = code >> plane & 1 != 0;
            match parts.last_mut() {
                Some((same, sum)) if *same == lit => *sum += length,
                _ => parts.push((lit, length)),
            }
        }
        // The end of a frame goes on with the beginning of the next.
        if let (true, [first, .., last]) = (parts.len() > 1, parts.as_mut_slice())
            && first.0 == last.0
        {
            last.1 += first.1;
            parts.remove(0);
        }
        let lit = parts.iter().position(|(lit, _)| *lit);
        parts.rotate_left(lit.unwrap_or(0));
        let Some((true, _)) = parts.first() else {
            let off = self.frame();
            return vec![Pulse { on: Cycles(0), off }];
        };
        let pulse = |pair: &[(bool, u32)]| Pulse {
            on: Cycles(pair[0].1),
            off: Cycles(pair.get(1).map_or(0, |(_, off)| *off)),
        };
        parts.chunks(2).map(pulse).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn all() -> impl Iterator<Item = Planes> {
        [1, 2].into_iter().flat_map(Planes::depths)
    }

    #[test]
    fn a_frame_has_every_cycle_once() {
        for planes in all() {
            let sum: u32 = planes.order().map(|(_, cycles)| cycles.0).sum();
            assert_eq!(sum, planes.frame().0, "{planes:?}");
            let first: u32 = planes
                .order()
                .take(usize::from(planes.tail()) + 2)
                .map(|(_, c)| c.0)
                .sum();
            assert_eq!(first, FIRST_SLOT, "{planes:?}");
        }
    }

    #[test]
    fn a_duty_is_lit_for_its_share_of_a_frame() {
        for planes in all() {
            let frame = f64::from(planes.frame().0);
            let step = 1 << (16 - planes.bits);
            let mut last = None;
            for duty in (0..=0xFF00).step_by(step).map(Duty) {
                let code = planes.code(duty);
                let lit = planes.lit(code).0;
                let ideal = f64::from(duty.0) / f64::from(0xFF00) * frame;
                let unit = f64::from(planes.unit());
                // A code is rounded down, from 257/256 of the duty where 256/255 is meant.
                let short = 1.0 + 1.0 / 16.0;
                assert!(
                    (f64::from(lit) - ideal).abs() <= short * unit,
                    "{planes:?} {duty:?}: {lit} of {ideal}"
                );
                assert!(last.is_none_or(|last| lit > last), "{planes:?} {duty:?}");
                last = Some(lit);
                assert_eq!(planes.duty(code), duty);
                let shown = planes.shown(duty);
                let on: u32 = shown.iter().map(|pulse| pulse.on.0).sum();
                let off: u32 = shown.iter().map(|pulse| pulse.off.0).sum();
                assert_eq!(
                    (on, on + off),
                    (lit, planes.frame().0),
                    "{planes:?} {duty:?}"
                );
            }
            assert_eq!(planes.shown(Duty(0xFF00)).len(), 1, "full light has no gap");
            assert_eq!(planes.lit(planes.code(Duty(0xFF00))), planes.frame());
            assert_eq!(planes.lit(planes.code(Duty(0))), Cycles(0));
        }
    }
}
