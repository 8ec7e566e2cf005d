//! Two buttons by which all light becomes brighter and darker, step by step.

mod watch;

use serde::Serialize;

use crate::input::knob::Gain;
use crate::plan::Tick;
use crate::spec::{Brightness, Project, Tap};
use crate::target::Wanted;

pub use watch::Watch;

/// What the firmware counts of both buttons together, and what a step is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct DimmerTicks {
    /// The buttons, by their places among the contacts.
    pub brighter: u8,
    pub darker: u8,
    /// One of them counts once it alone was seen down on so many ticks in a row, if before that neither was seen down
    /// on as many. So one that is down when power comes does nothing until it was let go.
    pub debounce: u16,
    /// While it stays down, it counts again each time after so many ticks.
    pub repeat: u16,
    /// What a step takes, of 256.
    pub step: u8,
    /// What all steps take: the least light that is left.
    pub most: u8,
}

/// The most ticks of either time: their sum is counted in two bytes.
const MOST: f64 = 10_000.0;

impl DimmerTicks {
    /// `None`: there are no such buttons.
    pub fn new(project: &Project, tick: &Tick) -> Option<Self> {
        let (brighter, darker) = (project.tapped(Tap::Brighter)?, project.tapped(Tap::Darker)?);
        let debounce = |at: usize| tick.looks(project.contacts[at].debounce.value);
        let debounce = debounce(brighter).max(debounce(darker));
        let brightness = &project.brightness;
        let (step, most) = Brightness::taken(brightness.steps.value);
        Some(Self {
            brighter: brighter as u8,
            darker: darker as u8,
            debounce: debounce.clamp(2.0, MOST) as u16,
            repeat: tick.count(brightness.repeat.value).round().clamp(1.0, MOST) as u16,
            step,
            most,
        })
    }

    /// What the count comes to when a button counts.
    pub fn full(self) -> u16 {
        2 * self.debounce
    }

    /// …and when it counts again.
    pub fn again(self) -> u16 {
        self.full() + self.repeat
    }

    /// Whether the count needs two bytes.
    pub fn is_wide(self) -> bool {
        self.again() > 255
    }

    pub fn variable(self) -> Wanted {
        let note = "ticks for which neither button was down, then one of them";
        Wanted::new("stepping", self.is_wide(), note).cleared(true)
    }

    /// How many different brightnesses there are.
    pub fn steps(self) -> u8 {
        self.most / self.step + 1
    }
}

/// How much of the light is taken, of 256; 0: none.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Dimmed(pub u8);

impl Dimmed {
    /// A step less is taken; whether anything changes.
    pub fn brighter(&mut self, ticks: DimmerTicks) -> bool {
        let changes = self.0 >= ticks.step;
        if changes {
            self.0 -= ticks.step;
        }
        changes
    }

    /// A step more, down to the least that is left.
    pub fn darker(&mut self, ticks: DimmerTicks) -> bool {
        let changes = self.0 < ticks.most;
        if changes {
            self.0 += ticks.step;
        }
        changes
    }

    /// How much of the light is left.
    pub fn gain(self) -> Gain {
        Gain(u8::MAX - self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Level;

    fn ticks(steps: u8) -> DimmerTicks {
        let (step, most) = Brightness::taken(steps);
        DimmerTicks {
            brighter: 0,
            darker: 1,
            debounce: 5,
            repeat: 80,
            step,
            most,
        }
    }

    /// The levels of 255 from full to the least, with a few presses too many.
    fn down(ticks: DimmerTicks) -> Vec<u8> {
        let mut dimmed = Dimmed::default();
        let mut all = vec![dimmed.gain().dim(Level(255)).0];
        while dimmed.darker(ticks) {
            all.push(dimmed.gain().dim(Level(255)).0);
        }
        all
    }

    #[test]
    fn as_many_equal_steps_as_were_asked_for_and_the_least_lights() {
        for steps in 3..=32 {
            let levels = down(ticks(steps));
            assert_eq!(levels.len(), usize::from(steps));
            assert_eq!(usize::from(ticks(steps).steps()), usize::from(steps));
            assert_eq!(levels[0], 255);
            let falls: Vec<u8> = levels.windows(2).map(|pair| pair[0] - pair[1]).collect();
            let (least, most) = (falls.iter().min(), falls.iter().max());
            assert!(
                most.zip(least)
                    .is_some_and(|(most, least)| most - least <= 1)
            );
            assert!(levels.last().is_some_and(|last| *last >= 255 / 32));
        }
    }

    #[test]
    fn at_either_end_it_stays() {
        for steps in 3..=32 {
            let ticks = ticks(steps);
            let mut dimmed = Dimmed::default();
            assert!(!dimmed.brighter(ticks));
            assert_eq!(dimmed.gain(), Gain::FULL);
            dimmed = Dimmed(ticks.most);
            assert!(!dimmed.darker(ticks));
            assert_eq!(dimmed, Dimmed(ticks.most));
        }
    }

    /// A record that a fault has made may have anything.
    #[test]
    fn from_anywhere_the_buttons_lead_up_and_down() {
        for steps in 3..=32 {
            let ticks = ticks(steps);
            for from in 0..=255 {
                let mut dimmed = Dimmed(from);
                while dimmed.darker(ticks) {}
                assert!(dimmed.0 >= ticks.most);
                while dimmed.brighter(ticks) {}
                assert!(dimmed.0 < ticks.step);
            }
        }
    }

    #[test]
    fn up_again_it_is_full() {
        for steps in 3..=32 {
            let ticks = ticks(steps);
            let mut dimmed = Dimmed(ticks.most);
            while dimmed.brighter(ticks) {}
            assert_eq!(dimmed.gain().dim(Level(200)), Level(200));
        }
    }
}
