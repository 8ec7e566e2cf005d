//! External and pin-change interrupts (datasheets, 'External Interrupts').

use super::pin::Pin;
use super::pins::Pins;
use super::silicon::Silicon;

/// A bit of a register, by data address.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct RegisterBit {
    register: u16,
    bit: u8,
}

/// INTn: one pin, with a choice of what on it counts.
#[derive(Debug, Clone, Copy)]
struct Line {
    pin: Pin,
    enable: RegisterBit,
    flag: RegisterBit,
    /// ISCn0; ISCn1 is the next bit.
    sense: RegisterBit,
    vector: u8,
}

/// PCINT: any change on the chosen pins of a port.
#[derive(Debug, Clone, Copy)]
struct Group {
    port: u8,
    mask: u16,
    enable: RegisterBit,
    flag: RegisterBit,
    vector: u8,
}

pub(super) struct External {
    lines: Vec<Line>,
    groups: Vec<Group>,
    /// The flags that are raised.
    raised: Vec<RegisterBit>,
    /// The pins that can raise one as things are, one bit a pin, and those of them whose interrupt
    /// is enabled.
    pins: u64,
    urgent: u64,
}

/// Settings of ISCn1:0.
const LOW_LEVEL: u8 = 0;
const ANY_CHANGE: u8 = 1;
const FALLING: u8 = 2;

impl External {
    pub(super) fn of(part: &Silicon) -> Self {
        let bit = |registers: &[&str], names: &[&str]| {
            let register = part.value(registers)?;
            Some(RegisterBit {
                register,
                bit: part.value(names)? as u8,
            })
        };
        let line = |(n, pin): (usize, &Pin)| {
            let vector_names = [format!("INT{n}_vect_num"), format!("EXT_INT{n}_vect_num")];
            Some(Line {
                pin: *pin,
                enable: bit(&["GIMSK", "EIMSK"], &[&format!("INT{n}")])?,
                flag: bit(&["GIFR", "EIFR"], &[&format!("INTF{n}")])?,
                sense: bit(&["EICRA", "MCUCR"], &[&format!("ISC{n}0")])?,
                vector: part.value(&[&vector_names[0], &vector_names[1]])? as u8,
            })
        };
        let group = |(n, port): (usize, &char)| {
            let alone: &[&str] = if n == 0 {
                &["PCMSK", "PCIE", "PCIF", "PCINT_vect_num"]
            } else {
                &["", "", "", ""]
            };
            Some(Group {
                port: (*port as u8) - b'A',
                mask: part.value(&[&format!("PCMSK{n}"), alone[0]])?,
                enable: bit(&["PCICR", "GIMSK"], &[&format!("PCIE{n}"), alone[1]])?,
                flag: bit(&["PCIFR", "GIFR"], &[&format!("PCIF{n}"), alone[2]])?,
                vector: part.value(&[&format!("PCINT{n}_vect_num"), alone[3]])? as u8,
            })
        };
        let lines: Vec<Line> = part.external.iter().enumerate().filter_map(line).collect();
        let ports = part.pin_change.iter().enumerate();
        let groups: Vec<Group> = ports.filter_map(group).collect();
        Self {
            pins: union(lines.iter().map(|line| 1 << line.pin.index())),
            lines,
            groups,
            raised: Vec::new(),
            urgent: 0,
        }
    }

    /// The pins that can raise a flag as things are, one bit a pin.
    #[inline]
    pub(super) fn pins(&self) -> u64 {
        self.pins
    }

    /// Those of them whose interrupt is enabled.
    pub(super) fn urgent(&self) -> u64 {
        self.urgent
    }

    /// No flag is raised.
    pub(super) fn clear(&mut self) {
        self.raised.clear();
    }

    /// Goes by new contents of the control registers.
    pub(super) fn obey(&mut self, control: &[u8]) {
        let line = |line: &Line| 1u64 << line.pin.index();
        let group = |group: &Group| u64::from(control[usize::from(group.mask)]) << (group.port * 8);
        let lines = self.lines.iter();
        let groups = self.groups.iter();
        let enabled_lines = lines.clone().filter(|line| is_set(control, line.enable));
        let enabled_groups = groups.clone().filter(|group| is_set(control, group.enable));
        self.urgent = union(enabled_lines.map(line).chain(enabled_groups.map(group)));
        self.pins = union(lines.map(line).chain(groups.map(group)));
    }

    /// The registers that say what counts and what is enabled.
    pub(super) fn control_registers(&self) -> Vec<u16> {
        let lines = self
            .lines
            .iter()
            .flat_map(|l| [l.enable.register, l.sense.register]);
        let groups = self.groups.iter().flat_map(|g| [g.enable.register, g.mask]);
        lines.chain(groups).collect()
    }

    pub(super) fn flag_registers(&self) -> Vec<u16> {
        let lines = self.lines.iter().map(|l| l.flag.register);
        lines
            .chain(self.groups.iter().map(|g| g.flag.register))
            .collect()
    }

    /// The inputs in `changed` (one bit a pin) are no longer what they were. Edges at INT pins are told by
    /// the clock; without it they go unnoticed ('External Interrupts').
    pub(super) fn notice(&mut self, changed: u64, pins: &Pins, control: &[u8], clocked: bool) {
        for line in self
            .lines
            .iter()
            .filter(|line| clocked && changed >> line.pin.index() & 1 != 0)
        {
            let high = pins.input(line.pin);
            let counts = match sense(line, control) {
                LOW_LEVEL => false,
                ANY_CHANGE => true,
                FALLING => !high,
                _ => high,
            };
            if counts {
                raise(&mut self.raised, line.flag);
            }
        }
        for group in &self.groups {
            let port = (changed >> (group.port * 8)) as u8;
            if port & control[usize::from(group.mask)] != 0 {
                raise(&mut self.raised, group.flag);
            }
        }
    }

    /// The vectors asked for.
    pub(super) fn requests<'a>(
        &'a self,
        pins: &'a Pins,
        control: &'a [u8],
    ) -> impl Iterator<Item = u8> + 'a {
        let lines = self.lines.iter().filter(move |line| {
            let by_level = sense(line, control) == LOW_LEVEL && !pins.input(line.pin);
            is_set(control, line.enable) && (by_level || self.raised.contains(&line.flag))
        });
        let groups = self.groups.iter().filter(move |group| {
            is_set(control, group.enable) && self.raised.contains(&group.flag)
        });
        lines
            .map(|line| line.vector)
            .chain(groups.map(|group| group.vector))
    }

    /// The interrupt is served: its flag clears.
    pub(super) fn acknowledge(&mut self, vector: u8) {
        let lines = self.lines.iter().map(|l| (l.vector, l.flag));
        let served = lines.chain(self.groups.iter().map(|g| (g.vector, g.flag)));
        if let Some((_, flag)) = served.into_iter().find(|(v, _)| *v == vector) {
            self.raised.retain(|raised| *raised != flag);
        }
    }

    pub(super) fn flags(&self, register: u16) -> u8 {
        let here = self.raised.iter().filter(|flag| flag.register == register);
        here.fold(0, |value, flag| value | 1 << flag.bit)
    }

    /// Flags are cleared by writing ones.
    pub(super) fn write_flags(&mut self, register: u16, value: u8) {
        self.raised
            .retain(|flag| flag.register != register || value >> flag.bit & 1 == 0);
    }
}

fn union(pins: impl Iterator<Item = u64>) -> u64 {
    pins.fold(0, std::ops::BitOr::bitor)
}

fn sense(line: &Line, control: &[u8]) -> u8 {
    control[usize::from(line.sense.register)] >> line.sense.bit & 3
}

fn is_set(control: &[u8], bit: RegisterBit) -> bool {
    control[usize::from(bit.register)] >> bit.bit & 1 != 0
}

fn raise(raised: &mut Vec<RegisterBit>, flag: RegisterBit) {
    if !raised.contains(&flag) {
        raised.push(flag);
    }
}
