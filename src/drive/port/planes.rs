//! Bit-angle modulation: how a frame is made of planes, and what a pin does meanwhile.

use crate::drive::Pulse;
use crate::units::{Cycles, Duty};

/// The planes of a frame. Plane `n` shows bit `n` of every channel's code for `2^n` units. Those of a timed
/// slot each are the longest; the shortest are shown within the first slot, by instructions that are timed to
/// the cycle:
///
/// ```text
/// first slot: [ lead, a quarter ][ 0 ][ 1 ] … [ highest ][ tail, a half ]; then a slot for each other plane
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
    pub by: Timed,
}

/// What times the slots.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Timed {
    /// A timer of their own, each as long as its plane.
    Slots,
    /// The overflows of timers that make PWM besides, of which the longer planes last several.
    Overflows,
}

/// The cycles of the first slot, by a timer of its own and by overflows.
pub const FIRST_SLOT: u32 = 128;
pub const OVERFLOW: u32 = 256;

/// Bits of a code that the player puts into planes between two looks at a count.
const SLICED: u8 = 4;
/// With fewer there would be next to no timed slot.
const LEAST_BITS: u8 = 8;
/// The longest slot that the timer counts, in cycles, is half a frame.
const MOST_CYCLES: u8 = 12;
/// A unit beside timers: the interrupt has their outputs to see to, and so a longer lead.
const BESIDE_TIMERS: u32 = 2;

impl Planes {
    /// The deepest that writing so many ports allows.
    pub fn deepest(ports: u8) -> Self {
        Self {
            bits: MOST_CYCLES - (ports - 1),
            ports,
            by: Timed::Slots,
        }
    }

    /// The deepest from the overflows of timers, on one port.
    pub fn beside_timers() -> Self {
        Self {
            bits: MOST_CYCLES - BESIDE_TIMERS.ilog2() as u8,
            ports: 1,
            by: Timed::Overflows,
        }
    }

    /// With a bit less, a frame takes half as long. `None`: not worth a frame.
    pub fn shallower(self) -> Option<Self> {
        let bits = self.bits - 1;
        (bits >= LEAST_BITS).then_some(Self { bits, ..self })
    }

    /// This depth and all below.
    pub fn and_shallower(self) -> impl Iterator<Item = Self> {
        std::iter::successors(Some(self), |planes| planes.shallower())
    }

    /// Cycles of a unit: of plane 0.
    pub fn unit(self) -> u32 {
        match self.by {
            Timed::Slots => u32::from(self.ports),
            Timed::Overflows => BESIDE_TIMERS,
        }
    }

    /// Cycles of the first slot.
    pub fn first(self) -> u32 {
        match self.by {
            Timed::Slots => FIRST_SLOT,
            Timed::Overflows => OVERFLOW,
        }
    }

    /// Cycles of a frame.
    pub fn frame(self) -> Cycles {
        Cycles(self.unit() << self.bits)
    }

    /// How many first slots a frame is as long as.
    pub fn overflows(self) -> u32 {
        self.frame().0 / self.first()
    }

    /// The plane that comes first, for as long as the interrupt takes to get the shortest ones.
    pub fn lead(self) -> u8 {
        (self.first() / 4 / self.unit()).ilog2() as u8
    }

    /// The plane that ends the first slot.
    pub fn tail(self) -> u8 {
        (self.first() / 2 / self.unit()).ilog2() as u8
    }

    /// The plane that is shown for half of a frame.
    pub fn top(self) -> u8 {
        self.bits - 1
    }

    /// Bytes of all planes.
    pub fn bytes(self) -> u32 {
        u32::from(self.bits * self.ports)
    }

    /// The table of pins has two bytes each: which port, or whether it is one at all.
    pub fn has_wide_pins(self) -> bool {
        self.ports > 1 || self.by == Timed::Overflows
    }

    /// In so many rounds the player fills the planes of a channel: two for the high byte of its code, and one for what
    /// counts of the low one.
    pub fn rounds_of_slicing(self) -> u8 {
        self.bits.div_ceil(SLICED)
    }

    /// Bits of the last round that have no plane.
    pub fn idle(self) -> u8 {
        self.rounds_of_slicing() * SLICED - self.bits
    }

    /// How often the player goes through a loop in a tick, by its label, for so many channels. `None`: it is none of
    /// those that fill planes.
    pub fn rounds(self, label: &str, channels: u32) -> Option<u32> {
        match label {
            "slice" => {
                let rounds = u32::from(self.rounds_of_slicing());
                Some(1 + channels * (rounds - 1))
            }
            _ => label.starts_with("darken").then_some(self.bits.into()),
        }
    }

    /// Slots of a frame.
    pub fn slots(self) -> u32 {
        u32::from(self.bits - self.tail())
    }

    /// What a slot is told by: the first has 0, the others the counts that they last, less one, of a timer
    /// that counts every 8th cycle. This bit is set in what comes after the last one.
    ///
    /// By overflows, slots are told by how many of those they last, and the first by 0.
    pub fn beyond(self) -> u32 {
        match self.by {
            Timed::Slots => self.frame().0.ilog2() - 4,
            Timed::Overflows => self.overflows().ilog2(),
        }
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

    /// What is written, and for how many cycles it is shown, in the order of a frame: a plane each, which by
    /// overflows is written with every one.
    pub fn order(self) -> impl Iterator<Item = (u8, Cycles)> {
        let weighed = move |plane| (plane, Cycles(self.unit() << plane));
        let first = [self.lead()].into_iter().chain(0..self.lead());
        let slots = (self.tail()..self.bits).map(weighed);
        let slots = slots.flat_map(move |(plane, Cycles(length))| {
            let times = match self.by {
                Timed::Slots => 1,
                Timed::Overflows => (length / self.first()).max(1),
            };
            std::iter::repeat_n((plane, Cycles(length / times)), times as usize)
        });
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
        let deepest = [
            Planes::deepest(1),
            Planes::deepest(2),
            Planes::beside_timers(),
        ];
        deepest.into_iter().flat_map(Planes::and_shallower)
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
            assert_eq!(first, planes.first(), "{planes:?}");
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
