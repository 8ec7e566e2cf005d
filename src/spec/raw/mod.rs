//! A project as it is written: the grammar. The doc comments are the reference; the JSON Schema
//! carries them to editors.
//!
//! Quantities are a number and a unit: `8 MHz`, `250 ms`, `1.5 min`, `40 %`. Where a value may be
//! drawn at random, a range stands for it: `100 ms .. 800 ms`.

mod amounts;
mod board;
mod brightness;
mod channels;
mod deeds;
mod electrics;
mod glow;
mod inputs;
mod patterns;
mod shows;
mod steps;
mod transistor;

pub(super) use amounts::*;
pub(super) use board::*;
pub(super) use brightness::*;
pub(super) use channels::*;
use deeds::DEEDS;
pub(super) use electrics::*;
pub(super) use glow::*;
pub(super) use inputs::*;
pub(super) use patterns::*;
pub(super) use shows::*;
pub(super) use steps::*;
pub(super) use transistor::*;

use super::read::{
    ChipName, MaybeEmpty, Name, Named, Needed, OneOrMany, PackageName, Switchable, record,
};
use crate::diagnostic::Spanned;
use crate::spec::project::Flashing;
use crate::units::{Time, Volts};

record! {
    /// A light project: a chip, its channels of light, and the patterns they play.
    Project: "a project: a mapping with at least `chip`, `channels` and `patterns`" {
        /// Lower-case letters, digits and hyphens; names the output. Default: the file's name.
        name: Option<Spanned<Name>>,
        /// The microcontroller, such as `attiny2313a`.
        chip: Needed<Spanned<ChipName>>,
        /// The chip's package, such as `SOIC-8`: `wiring` counts its legs. Default: the first that
        /// `duskloom chips` lists, which stands on a breadboard where there is one that does.
        package: Option<Spanned<PackageName>>,
        /// The processor's clock, such as `8 MHz internal`. Default: the chip's own, as delivered.
        clock: Option<Spanned<Clock>>,
        /// The strings of lights: how many, or their names, or a mapping from names to settings.
        channels: Needed<Channels>,
        /// Names for sets of channels, besides those that `group` of a channel gives.
        groups: Option<Named<OneOrMany<Spanned<String>>>>,
        /// How percentages become light.
        brightness: Option<Brightness>,
        /// What you want of the pulse-width modulation. Default: whatever is best.
        pwm: Option<Pwm>,
        /// The step of time in which levels change, such as `5 ms`. Default: whatever fits.
        tick: Option<Spanned<Time>>,
        /// Files of shared patterns, relative to this file.
        r#use: Option<OneOrMany<Spanned<String>>>,
        /// The patterns, by name. A list of steps drives all channels; a mapping says more.
        patterns: Option<Needed<Named<Pattern>>>,
        /// What the light does by itself, in order of the button's holds. Default: `solo` with a
        /// button or a single pattern, else `roam`.
        shows: Option<Spanned<Vec<Spanned<Show>>>>,
        /// Time to dim one pattern and bring up the next, half each. Default: none, or 2 s with
        /// `evening`.
        change_fade: Option<Spanned<Time>>,
        /// The button.
        button: Option<Button>,
        /// What else comes in, by name: up to six contacts and further buttons, a switch, a knob, a sensor of light.
        inputs: Option<Named<Input>>,
        /// What is played once when power comes. Default: nothing; the first scene is on at once.
        start: Option<Start>,
        /// The button switches the light off and on. Default: it does not.
        standby: Option<MaybeEmpty<Standby>>,
        /// On for some hours of each day, dark and asleep for the others. Default: always on.
        evening: Option<Evening>,
        /// What survives a power cut: `off`, or a mapping. Default: on when there is a button.
        memory: Option<Spanned<Switchable<Memory>>>,
        /// Two pins that clock a charge pump in opposite phase.
        charge_pump: Option<ChargePump>,
        /// The strings' LEDs and switches, by channel or group, or `all`.
        strings: Option<Named<LedString>>,
        /// What feeds the chip and the strings. Default: 5 V.
        supply: Option<Supply>,
        /// The battery that feeds the supply.
        battery: Option<Needed<Battery>>,
        /// Spares the battery: dims the light when cells are low, and ends it when they are spent. Default: it does
        /// not.
        guard: Option<MaybeEmpty<Guard>>,
        /// Whether patterns that may flash more than three times in a second are built, where they
        /// say nothing of it themselves. Default: `refused`.
        flashing: Option<Spanned<Flashing>>,
        /// How long the firmware may be stuck before the chip restarts: `off`, or a time.
        /// Default: 1 s.
        watchdog: Option<Spanned<Switchable<Time>>>,
        /// Below what supply the chip holds itself in reset, by its fuses: `off`, or a level that
        /// the chip has, such as `2.7 V`. Default: the level that suits the clock.
        brown_out: Option<Spanned<Switchable<Volts>>>,
    }
}

record! {
    /// A library: patterns shared by several projects.
    Library: "a library of patterns: a mapping with `patterns`" {
        /// Further libraries, relative to this file.
        r#use: Option<OneOrMany<Spanned<String>>>,
        /// The patterns, by name, as in a project.
        patterns: Option<Named<Pattern>>,
    }
}
