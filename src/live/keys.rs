//! Keys, and what they mean.

use ratatui::crossterm::event::{KeyCode, KeyEvent, KeyEventKind, KeyModifiers};

/// What the person wishes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wish {
    Pause,
    /// On by a tick.
    Tick,
    /// On to the next step of any channel.
    Step,
    Faster,
    Slower,
    /// The next pattern, by itself.
    Next,
    /// Off and on: back to the shows.
    Shows,
    Tap,
    Hold,
    /// Held for so long that it goes off.
    Off,
    /// A contact closes for a moment, or a further button is tapped, by its place.
    Close(u8),
    /// The button is tapped that is brighter, or the one that is darker.
    Dim(bool),
    /// The switch goes the other way.
    Turn,
    /// The knob goes up, or down.
    Knob(bool),
    /// It gets bright around, or dark.
    Curtains,
    /// Cells get weaker, or are changed.
    Cells,
    /// Let it flash.
    Agree,
    Leave,
}

/// The key that only a light with standby has.
pub(super) const OFF: &str = "o";

/// The key that only a light with contacts has.
pub(super) const CONTACT: &str = "1-6";

/// The key that only a light with a switch has.
pub(super) const SWITCH: &str = "w";

/// The keys that only a light with buttons for its brightness has.
pub(super) const DIMMER: &str = "</>";

/// The keys that only a light with a knob has.
pub(super) const KNOB: &str = "[/]";

/// The key that only a light with a sensor has.
pub(super) const CURTAINS: &str = "b";

/// The key that only a light with a guard has.
pub(super) const CELLS: &str = "v";

/// Each key and what it does, as the screen has it.
pub(super) const KEYS: &[(&str, &str)] = &[
    ("space", "pause"),
    (".", "tick"),
    ("s", "step"),
    ("-/+", "speed"),
    ("n", "next pattern"),
    ("t", "tap"),
    ("h", "hold"),
    (OFF, "off"),
    (CONTACT, "contact"),
    (SWITCH, "switch"),
    (DIMMER, "darker, brighter"),
    (KNOB, "knob"),
    (CURTAINS, "bright around"),
    (CELLS, "weaker cells"),
    ("r", "off and on"),
    ("q", "leave"),
];

impl Wish {
    /// What a key means, if anything.
    pub fn of(key: KeyEvent) -> Option<Self> {
        if key.kind == KeyEventKind::Release {
            return None;
        }
        if key.modifiers.contains(KeyModifiers::CONTROL) {
            return matches!(key.code, KeyCode::Char('c' | 'd')).then_some(Self::Leave);
        }
        Some(match key.code {
            KeyCode::Char(' ' | 'p') => Self::Pause,
            KeyCode::Char('.') => Self::Tick,
            KeyCode::Char('s') | KeyCode::Right => Self::Step,
            KeyCode::Char('+' | '=') | KeyCode::Up => Self::Faster,
            KeyCode::Char('-') | KeyCode::Down => Self::Slower,
            KeyCode::Char('n') => Self::Next,
            KeyCode::Char('r') => Self::Shows,
            KeyCode::Char('t') => Self::Tap,
            KeyCode::Char('h') => Self::Hold,
            KeyCode::Char('o') => Self::Off,
            KeyCode::Char(digit @ '1'..='6') => Self::Close(digit as u8 - b'1'),
            KeyCode::Char('w') => Self::Turn,
            KeyCode::Char('b') => Self::Curtains,
            KeyCode::Char('v') => Self::Cells,
            KeyCode::Char('<') => Self::Dim(false),
            KeyCode::Char('>') => Self::Dim(true),
            KeyCode::Char('[') => Self::Knob(false),
            KeyCode::Char(']') => Self::Knob(true),
            KeyCode::Char('y') => Self::Agree,
            KeyCode::Char('q') | KeyCode::Esc => Self::Leave,
            _ => return None,
        })
    }
}
