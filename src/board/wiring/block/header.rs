//! Where the programmer is plugged in.

use super::{RESET, SUPPLY};
use crate::board::wiring::bill::{Bill, ItemKind, Want};
use crate::board::wiring::ink::{Anchor, At, Block, Ink};
use crate::design::Design;

/// From row to row.
const ROW: i32 = 26;
const WIDTH: i32 = 60;

/// The header of six pins that programmers of these chips have (Microchip AN2519, 'Connecting ISP
/// lines'; from memory).
pub(super) fn header(bill: &mut Bill, design: &Design) -> Block {
    let pins = &design.plan.chip.programming;
    let want = Want::named(ItemKind::Connector, "header of 2 by 3 pins");
    let mark = bill.add(1, want, "for the programmer");
    let [miso, sck, mosi] = [pins.miso, pins.sck, pins.mosi].map(|pin| pin.to_string());
    let rows = [
        ["MISO", miso.as_str(), SUPPLY, ""],
        ["SCK", &sck, &mosi, "MOSI"],
        ["", RESET, "ground", ""],
    ];
    let mut ink = Ink::default();
    let body = At::new(130, 36);
    ink.frame(body, WIDTH, 3 * ROW + 6);
    for (row, [signal, left, right, other]) in rows.into_iter().enumerate() {
        let number = 2 * row + 1;
        let at = body.by(0, ROW * row as i32 + 16);
        ink.words(at.by(8, 4), Anchor::Start, &number.to_string());
        ink.words(at.by(WIDTH - 8, 4), Anchor::End, &(number + 1).to_string());
        ink.wire([at, at.by(-14, 0)]);
        ink.net(at.by(-14, 0), left);
        ink.words(at.by(-96, 4), Anchor::Start, signal);
        ink.wire([at.by(WIDTH, 0), at.by(WIDTH + 14, 0)]);
        ink.net_at_end(at.by(WIDTH + 14, 0), right);
        ink.words(at.by(WIDTH + 66, 4), Anchor::Start, other);
    }
    ink.block(format!("{mark} Programmer, from above"))
}
