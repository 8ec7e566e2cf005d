//! Patterns and brightness as bytes.
//!
//! One tick is 5 ms. Levels go from 0 (dark) to 255 (100 % of the scale).

/// How many channels there are: ch1.
pub const CHANNELS: usize = 1;

/// Number of ticks.
pub type Ticks = u8;

/// Offset into [`PROGRAMS`].
pub type Address = u8;

/// Offset into [`STARTS`].
pub type Place = u8;

pub(crate) const AGAIN: u8 = 0xF7;

/// Programs, one after the other. An operation is a length and a level, to be reached in a straight
/// line, or a code and its operands.
#[rustfmt::skip]
pub const PROGRAMS: [u8; 31] = [
    // play_calm, at 0
    78, 93,                         // softly to 100 % over 4 s, piece 1 of 7: 36.5 %
    97, 109,                        // softly to 100 % over 4 s, piece 2 of 7: 42.7 %
    125, 141,                       // softly to 100 % over 4 s, piece 3 of 7: 55.3 %
    238, 214,                       // softly to 100 % over 4 s, piece 4 of 7: 83.9 %
    116, 241,                       // softly to 100 % over 4 s, piece 5 of 7: 94.5 %
    89, 253,                        // softly to 100 % over 4 s, piece 6 of 7: 99.2 %
    57, 255,                        // softly to 100 % over 4 s, piece 7 of 7: 100 %
    106, 252,                       // softly to 34.9 % over 6 s, piece 1 of 7: 98.8 %
    144, 237,                       // softly to 34.9 % over 6 s, piece 2 of 7: 92.9 %
    180, 207,                       // softly to 34.9 % over 6 s, piece 3 of 7: 81.2 %
    246, 157,                       // softly to 34.9 % over 6 s, piece 4 of 7: 50.6 %, part 1 of 2
    138, 129,                       // softly to 34.9 % over 6 s, piece 4 of 7: 50.6 %, part 2 of 2
    169, 103,                       // softly to 34.9 % over 6 s, piece 5 of 7: 40.4 %
    135, 91,                        // softly to 34.9 % over 6 s, piece 6 of 7: 35.7 %
    82, 89,                         // softly to 34.9 % over 6 s, piece 7 of 7: 34.9 %
    AGAIN,                          // from the start
];

/// What starts when: for each scene one program for all channels. A record has in order:
///
/// - where their program is
/// - the level to start from
#[rustfmt::skip]
pub const STARTS: [u8; 2] = [
    0, 89,                          // calm
];

/// Where the player reads its tables from.
pub trait Memory {
    /// A byte of [`PROGRAMS`].
    fn program(at: Address) -> u8;

    /// A byte of [`STARTS`].
    fn start(at: Place) -> u8;
}

/// Tables in ordinary memory.
#[derive(Debug, Clone, Copy)]
pub struct Constants;

impl Memory for Constants {
    fn program(at: Address) -> u8 {
        static TABLE: [u8; PROGRAMS.len()] = PROGRAMS;
        TABLE[usize::from(at)]
    }

    fn start(at: Place) -> u8 {
        static TABLE: [u8; STARTS.len()] = STARTS;
        TABLE[usize::from(at)]
    }
}
