//! What `new --with` can add: a row a word. Its lines are those of `templates/new.yaml.j2` that ask for
//! `has.WORD`; its pin is `pin.WORD` there.

use duskloom::chip::Chip;
use duskloom::target::Target;

/// Something that a project can have besides strings, patterns and shows.
#[derive(Debug, PartialEq, Eq)]
pub(in crate::cli) struct Word {
    pub word: &'static str,
    /// What it is, for the help and for completions.
    pub help: &'static str,
    /// `None`: it has no pin of its own.
    pub pin: Option<Wants>,
    pub needs: &'static [Need],
    /// The button must wake the chip. Every chip has pins at which it does; whether one is free, the search tells.
    pub wakes: bool,
    /// It is one of the project's `inputs`.
    pub is_input: bool,
    /// It plays a pattern once.
    pub plays: bool,
}

/// What a pin must be able to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::cli) enum Wants {
    /// To be read.
    Level,
    /// To be measured by the converter.
    Voltage,
}

/// What else must be there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::cli) enum Need {
    Converter,
    /// An interrupt of the watchdog, which counts the time asleep.
    Watchdog,
}

/// A contact, say; the others are told by how they differ from it.
const CONTACT: Word = Word {
    word: "contact",
    help: "a contact that plays a pattern each time it closes: a door's, a reed's, a motion sensor's",
    pin: Some(Wants::Level),
    needs: &[],
    wakes: false,
    is_input: true,
    plays: true,
};

/// In the order in which pins are found for them and in which they are listed.
pub(in crate::cli) const WORDS: [Word; 9] = [
    Word {
        word: BUTTON,
        help: "a push button that goes on to other patterns; every beginning has it",
        is_input: false,
        plays: false,
        ..CONTACT
    },
    CONTACT,
    Word {
        word: "switch",
        help: "a switch that stays as it is turned and chooses between two shows",
        plays: false,
        ..CONTACT
    },
    Word {
        word: "knob",
        help: "a potentiometer that sets the brightness",
        pin: Some(Wants::Voltage),
        needs: &[Need::Converter],
        plays: false,
        ..CONTACT
    },
    Word {
        word: "sensor",
        help: "a light-dependent resistor that has the light on in the dark",
        pin: Some(Wants::Voltage),
        needs: &[Need::Converter, Need::Watchdog],
        wakes: true,
        plays: false,
        ..CONTACT
    },
    Word {
        word: "evening",
        help: "on for some hours every day, or from dusk on where there is a sensor",
        needs: &[Need::Watchdog],
        wakes: true,
        ..CONDUCT
    },
    Word {
        word: "standby",
        help: "off by a long press of the button, on by a tap",
        wakes: true,
        ..CONDUCT
    },
    Word {
        word: "start",
        help: "a pattern that is played once when power comes",
        plays: true,
        ..CONDUCT
    },
    Word {
        word: "fade",
        help: "patterns that fade into each other",
        ..CONDUCT
    },
];

/// What every project begins with.
pub(super) const BUTTON: &str = "button";

/// Something it does by itself.
const CONDUCT: Word = Word {
    word: "",
    help: "",
    pin: None,
    needs: &[],
    wakes: false,
    is_input: false,
    plays: false,
};

impl Word {
    /// Those of the table that are asked for, and the button, in the table's order.
    pub(super) fn all(asked: &[&'static Self]) -> Vec<&'static Self> {
        let is_there = |word: &&Self| word.word == BUTTON || asked.contains(word);
        WORDS.iter().filter(is_there).collect()
    }

    /// The first need that a chip does not meet.
    pub(super) fn lacks(&self, chip: &'static Chip) -> Option<Need> {
        self.needs.iter().copied().find(|need| !need.is_met(chip))
    }
}

impl Need {
    fn is_met(self, chip: &'static Chip) -> bool {
        match self {
            Self::Converter => chip.converter.is_some(),
            Self::Watchdog => Target::of(chip).counting().is_some(),
        }
    }

    /// What is said of a chip that does not meet it.
    pub(super) fn lacking(self) -> &'static str {
        match self {
            Self::Converter => "it has no analogue-to-digital converter",
            Self::Watchdog => "its watchdog has no interrupt, by which the time asleep is counted",
        }
    }
}
