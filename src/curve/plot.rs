//! The curve as a picture: lightness and duty over the levels.

use crate::board::{Lamp, worst};
use crate::design::Design;
use crate::light::rows;

use super::Style;

const WIDTH: usize = 64;
const HEIGHT: usize = 16;

/// Lightness and duty over the levels, both from 0 to 100.
pub(super) fn plot(design: &Design, lamps: &[Lamp], style: &Style) -> String {
    let all = rows(
        &design.scale,
        |level| design.deck.light.duty(level),
        design.plan.drive.pwm().whole,
    );
    let last = (all.len() - 1) as f64;
    let (lightness, duty, led, wall, corner, floor) = if style.ascii {
        ('o', '*', 'x', '|', '+', '-')
    } else {
        ('○', '●', '×', '│', '└', '─')
    };
    let lamp = worst(lamps);
    let mut cells = vec![[' '; WIDTH]; HEIGHT + 1];
    for x in 0..WIDTH {
        let row = &all[(x as f64 / (WIDTH - 1) as f64 * last).round() as usize];
        let at_led = lamp.map(|lamp| (lamp.light.typical[usize::from(row.level.0)].0, led));
        let marks = [(row.real.0, lightness), (row.on.0 * 100.0, duty)];
        for (value, mark) in at_led.into_iter().chain(marks) {
            let y = (value / 100.0 * HEIGHT as f64).round() as usize;
            cells[y.min(HEIGHT)][x] = mark;
        }
    }
    let mut text = String::new();
    for (y, line) in cells.iter().enumerate().rev() {
        let label = match y * 4 % HEIGHT {
            0 => format!("{}", 100 * y / HEIGHT),
            _ => String::new(),
        };
        let line: String = line.iter().collect();
        text += format!("{label:>6} {wall}{line}").trim_end();
        text.push('\n');
    }
    let rule: String = std::iter::repeat_n(floor, WIDTH).collect();
    let middle = WIDTH - all.len().to_string().len();
    text += &format!("{:>6} {corner}{rule}\n", "");
    text += &format!("{:>8}{:<middle$}{}\n", "", "level 0", all.len() - 1);
    let at_led = lamp.map_or_else(String::new, |lamp| {
        let name = &design.project.channels[lamp.channel].name.value;
        format!("   {led} L* at the LED of {name}")
    });
    text += &format!(
        "{:>8}{lightness} lightness L*   {duty} duty in %{at_led}\n",
        ""
    );
    text
}
