//! The electric part of a project: what hangs on the chip and what feeds it. All of it is optional.

use serde::Serialize;

use super::Transistor;
use crate::diagnostic::{Span, Spanned};
use crate::units::{AmpHours, Amps, Farads, Ohms, Share, Volts, Watts};

/// What a project says of its board.
#[derive(Debug, Clone, Default)]
pub struct Electrics {
    /// By [`ChannelId`](super::ChannelId); empty when the project says nothing of its strings.
    pub strings: Vec<Option<LedString>>,
    /// `None`: neither supply, battery nor strings are given.
    pub supply: Option<Supply>,
    pub battery: Option<Battery>,
    pub pump: Option<PumpCircuit>,
}

/// The LEDs of a channel and what switches them.
#[derive(Debug, Clone)]
pub struct LedString {
    /// The name that it is given for: of the channel, a group, or `all`.
    pub span: Span,
    /// In series. At least 1.
    pub leds: Spanned<u32>,
    /// Strings side by side, each with its resistor. At least 1.
    pub parallel: Spanned<u32>,
    /// What one LED drops, typically.
    pub forward: Spanned<Volts>,
    /// The least and the most that one LED drops; `forward` is between them.
    pub spread: (Volts, Volts),
    /// Wanted through each string.
    pub current: Spanned<Amps>,
    pub switch: Spanned<Switch>,
    /// Of an NPN, collector to emitter. `None`: nothing is said of it.
    pub saturation: Option<Volts>,
    /// Collector current over base current with which an NPN is driven.
    pub gain: f64,
    /// Of a MOSFET. `None`: nothing is said of it.
    pub on_resistance: Option<Ohms>,
    /// Of its pin at the supply as it should be. `None`: as the chip's datasheet has it.
    pub pin_resistance: Option<Ohms>,
    /// `None`: the switch is taken as ideal.
    pub transistor: Option<Spanned<Transistor>>,
    pub drive: Spanned<SwitchDrive>,
    /// Of one LED. `None`: on a pin, it is taken as ideal.
    pub capacitance: Option<Farads>,
    /// `None`: nothing is said of it.
    pub colour: Option<Colour>,
    pub from: Spanned<Rail>,
    pub series: Series,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Switch {
    /// Low side.
    Npn,
    /// N channel, low side.
    Mosfet,
    Pin,
}

/// What an LED's light looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Colour {
    WarmWhite,
    White,
    Red,
    Orange,
    Amber,
    Yellow,
    Green,
    Blue,
}

impl Colour {
    /// Of its light at a temperature, the part that is lost with each kelvin more. From memory of makers' curves of
    /// relative light over temperature: indium-gallium nitride (white, green, blue) hardly fades,
    /// aluminium-indium-gallium phosphide (red to yellow) does, most where it is most yellow.
    pub fn fading(self) -> f64 {
        match self {
            Self::Blue => 0.001,
            Self::WarmWhite | Self::White => 0.002,
            Self::Green => 0.0025,
            Self::Red => 0.005,
            Self::Orange => 0.0065,
            Self::Amber | Self::Yellow => 0.008,
        }
    }

    /// As a project names it.
    pub fn text(self) -> &'static str {
        match self {
            Self::WarmWhite => "warm-white",
            Self::White => "white",
            Self::Red => "red",
            Self::Orange => "orange",
            Self::Amber => "amber",
            Self::Yellow => "yellow",
            Self::Green => "green",
            Self::Blue => "blue",
        }
    }
}

/// How a transistor is driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SwitchDrive {
    /// Through a resistor.
    Plain,
    /// With a capacitor across the base's resistor.
    SpeedUp,
    /// With a Schottky diode from base to collector.
    Clamp,
    /// By a divider, with a resistor at the emitter.
    Sink,
}

/// Where a string's current comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rail {
    Supply,
    /// What goes into the regulator.
    Input,
    Pump,
}

impl Rail {
    /// As a project names it.
    pub fn text(self) -> &'static str {
        match self {
            Self::Supply => "supply",
            Self::Input => "input",
            Self::Pump => "pump",
        }
    }
}

/// Preferred values of resistors, IEC 60063.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Series {
    E12,
    E24,
}

/// What feeds the chip.
#[derive(Debug, Clone)]
pub struct Supply {
    pub span: Span,
    pub volts: Spanned<Volts>,
    /// Either way.
    pub tolerance: Share,
    pub limit: Option<Spanned<Amps>>,
    /// Drawn by something else, all the time.
    pub other: Amps,
    pub regulator: Option<Regulator>,
}

/// A linear regulator.
#[derive(Debug, Clone)]
pub struct Regulator {
    pub span: Span,
    /// Least and most.
    pub input: (Volts, Volts),
    pub dropout: Volts,
    pub quiescent: Amps,
    /// What it can turn into heat.
    pub rating: Watts,
}

/// What kind a cell is of, which says how much it resists.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CellKind {
    Aa,
    Aaa,
    Nimh,
    NineVolt,
    Cr2032,
}

impl CellKind {
    /// Of one cell: full, and when its capacity is used up. All from memory of makers' data sheets, at
    /// room temperature; cells differ by half of it, and cold ones resist twice as much.
    pub fn resistance(self) -> [Ohms; 2] {
        match self {
            Self::Aa => [Ohms(0.15), Ohms(0.6)],
            Self::Aaa => [Ohms(0.25), Ohms(1.0)],
            Self::Nimh => [Ohms(0.03), Ohms(0.1)],
            Self::NineVolt => [Ohms(1.7), Ohms(6.0)],
            Self::Cr2032 => [Ohms(12.0), Ohms(40.0)],
        }
    }
}

/// What spares the battery: the chip measures its supply, and dims or ends the light.
#[derive(Debug, Clone)]
pub struct Guard {
    pub span: Span,
    /// Of a cell when the light dims; above that at which it goes, which is the battery's
    /// [`cut_off`](Battery::cut_off).
    pub dim: Volts,
    /// To how much of its lightness it dims.
    pub to: Share,
    /// What the chip's own reference was measured as. `None`: it was not.
    pub reference: Option<Volts>,
}

/// Cells in series.
#[derive(Debug, Clone)]
pub struct Battery {
    pub span: Span,
    pub cells: u32,
    /// `None`: they are taken to resist nothing.
    pub kind: Option<CellKind>,
    /// Of a cell.
    pub full: Volts,
    /// Of a cell whose capacity is used up.
    pub empty: Volts,
    pub capacity: AmpHours,
    /// Of a cell when the light is switched off; between `empty` and `full`.
    pub cut_off: Volts,
    /// In a year.
    pub self_discharge: Share,
}

impl Battery {
    /// Of all cells when they are full.
    pub fn start(&self) -> Volts {
        Volts(self.full.0 * f64::from(self.cells))
    }

    /// Of all cells when the light is switched off.
    pub fn end(&self) -> Volts {
        Volts(self.cut_off.0 * f64::from(self.cells))
    }

    /// What all cells resist when this share of their charge is left.
    pub fn resistance(&self, left: Share) -> Ohms {
        let [full, empty] = self.kind.map_or([Ohms(0.0); 2], CellKind::resistance);
        let cell = empty.0 + (full.0 - empty.0) * left.0;
        Ohms(cell * f64::from(self.cells))
    }
}

/// The charge pump's parts.
#[derive(Debug, Clone)]
pub struct PumpCircuit {
    pub span: Span,
    /// Pumped capacitors. At least 1.
    pub stages: u32,
    pub capacitor: Farads,
    pub reservoir: Farads,
    /// In series with each of the two pins; zero: none.
    pub resistor: Ohms,
    pub diode: Diode,
}

/// What a diode drops.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Diode {
    Drop(Volts),
    /// Two points of its curve, the lower current first.
    Points([(Amps, Volts); 2]),
}
