//! A string: from its rail through its LEDs to its switch.

use super::switch;
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{Anchor, At, Block, Ink, Symbol};
use crate::circuit::{Circuit, Hung};
use crate::design::Design;
use crate::light::Tint;
use crate::spec::{Active, Glow, LedString, Switch};
use crate::units::Ohms;

/// As many LEDs in series are drawn one by one.
const DRAWN: u32 = 4;
/// Where the string is drawn, and where its rail is.
const SPINE: At = At::new(166, 62);
/// Of the frame around strings side by side.
const MARGIN: i32 = 20;

/// Of all channels of which something is said.
pub(super) fn strings(bill: &mut Bill, design: &Design, circuit: &Circuit) -> Vec<Block> {
    let wanted = design.project.electrics.strings.iter();
    let channels = design.project.channels.iter();
    let places = design.plan.drive.channels();
    let all = wanted.zip(&circuit.strings).zip(channels.zip(places));
    all.filter_map(|((wanted, hung), (channel, place))| {
        let string = Strung {
            wanted: wanted.as_ref()?,
            hung: hung.as_ref()?,
            name: &channel.name.value,
            leg: place.pin.to_string(),
            light: channel.light.map(|light| light.value),
        };
        Some(string.block(bill, place.active))
    })
    .collect()
}

/// A string on its leg.
pub(super) struct Strung<'a> {
    pub(super) wanted: &'a LedString,
    pub(super) hung: &'a Hung,
    /// Of its channel.
    pub(super) name: &'a str,
    pub(super) leg: String,
    /// Its colour. `None`: nothing is said of it.
    light: Option<Glow>,
}

impl Strung<'_> {
    /// In the parts list.
    pub(super) fn place(&self, what: &str) -> String {
        format!("{}: {what}", self.name)
    }

    /// One that goes there; its mark and its value.
    pub(super) fn resistor(&self, bill: &mut Bill, ohms: Ohms, place: &str) -> [String; 2] {
        let mark = bill.add(1, Want::resistor(ohms), self.place(place));
        [mark, ohms.to_string()]
    }

    fn block(&self, bill: &mut Bill, active: Active) -> Block {
        let mut ink = Ink::default();
        let leds = self.leds(bill);
        let resistor = self.limiter(bill);
        match (self.wanted.switch.value, active) {
            (Switch::Pin, Active::High) => {
                let start = At::new(80, SPINE.y + 8);
                ink.net(start, &self.leg);
                let end = self.chain(&mut ink, start, &leds, Some(&resistor), Run::Right);
                ink.ground(end);
            }
            (Switch::Pin, Active::Low) => {
                ink.rail(SPINE, self.hung.rail.text());
                let end = self.chain(&mut ink, SPINE, &leds, Some(&resistor), Run::Down);
                let corner = end.by(0, 10);
                ink.wire([end, corner, corner.by(-40, 0)]);
                ink.net(corner.by(-40, 0), &self.leg);
            }
            (Switch::Npn | Switch::Mosfet, _) => {
                ink.rail(SPINE, self.hung.rail.text());
                let limits = self.hung.string.sink.is_none().then_some(&resistor);
                let end = self.chain(
                    &mut ink,
                    SPINE,
                    &leds,
                    limits.map(String::as_str),
                    Run::Down,
                );
                switch::switch(self, bill, &mut ink, end, &resistor);
            }
        }
        let active = match active {
            Active::High => "",
            Active::Low => ", lit when low",
        };
        ink.block(format!("{} on {}{active}", self.name, self.leg))
    }

    fn leds(&self, bill: &mut Bill) -> String {
        let string = &self.hung.string;
        let wanted = self.wanted;
        let light = self
            .light
            .map_or_else(String::new, |light| format!("{light}, "));
        let what = format!(
            "LED, {light}{} at {}",
            wanted.forward.value, wanted.current.value
        );
        let each = match string.parallel {
            1 => "in series".to_string(),
            count => format!("{count} strings of {}", string.leds),
        };
        let want = Want::named(ItemKind::Led, what).of(wanted.forward.value);
        bill.add(string.leds * string.parallel, want, self.place(&each))
    }

    /// What sets the current.
    fn limiter(&self, bill: &mut Bill) -> String {
        let string = &self.hung.string;
        let mut want = Want::resistor(string.resistor);
        if let Some(rating) = string.rating {
            want = want.standing(rating).or_more();
        }
        let place = match string.sink {
            Some(_) => "from the emitter to ground",
            None => "in series with each string",
        };
        bill.add(string.parallel, want, self.place(place))
    }

    /// One from a place down, in the colour of its light.
    fn led(&self, ink: &mut Ink, at: At, label: [&str; 2]) -> At {
        if let Some(light) = self.light {
            ink.lens(at, Tint::of(light));
        }
        ink.down(Symbol::Led, at, label)
    }

    /// Resistor and LEDs from a place on; gives where the last LED ends.
    fn chain(&self, ink: &mut Ink, from: At, leds: &str, resistor: Option<&str>, run: Run) -> At {
        let string = &self.hung.string;
        let ohms = string.resistor.to_string();
        let mut at = from;
        if let Some(mark) = resistor {
            at = match run {
                Run::Down => ink.down(Symbol::Resistor, at, [mark, &ohms]),
                Run::Right => {
                    let end = ink.across(Symbol::Resistor, at, [mark, &ohms]);
                    let corner = At::new(SPINE.x, end.y);
                    ink.wire([end, corner, corner.by(0, 10)]);
                    corner.by(0, 10)
                }
            };
        }
        let value = format!(
            "{}, {}",
            self.wanted.forward.value, self.wanted.current.value
        );
        let label = [leds, value.as_str()];
        let none = ["", ""];
        if string.leds <= DRAWN {
            for led in 0..string.leds {
                let label = if led == 0 { label } else { none };
                at = self.led(ink, at, label);
            }
        } else {
            at = self.led(ink, at, label);
            ink.dashed(at, at.by(0, 30));
            let words = format!("{} in series", string.leds);
            ink.words(at.by(16, 20), Anchor::Start, &words);
            at = self.led(ink, at.by(0, 30), none);
        }
        if string.parallel > 1 {
            let top = match run {
                Run::Down => from.by(-MARGIN, 4),
                Run::Right => from.by(-4, -44),
            };
            let (width, height) = (SPINE.x + 90 - top.x, at.y - 4 - top.y);
            ink.dashed_frame(top, width, height);
            let words = format!("x {}", string.parallel);
            ink.words(At::new(top.x - 6, top.y + 12), Anchor::End, &words);
        }
        at
    }
}

/// Which way a string begins.
#[derive(Clone, Copy)]
enum Run {
    Down,
    Right,
}
