//! Changes to a project's text as people make them: a number, a word, a line. Changes of single bytes
//! alone seldom leave YAML that means something.

/// What a number or a word is replaced by.
const WORDS: &str = "0 1 2 3 5 7 12 16 31 64 99 100 128 255 256 300 999 65535 65536 86400 0.1 0.001 \
    1.5 33.333 1e9 -1 us ms s min h % Hz kHz MHz V mV mA uA ohm kohm uF nF mW mAh linear soft soft-in \
    soft-out sine triangle saw square lightness logarithmic fast phase-correct auto attiny13a attiny85 \
    attiny2313a attiny4313 attiny84a attiny861a attiny1634 atmega8 atmega88 atmega328p atmega32u4 true \
    false off forever all rest hold to set over ease repeat steps pick branch wave period low high \
    spread cycles rhythm stagger each ahead draw seed rounds play channels group groups trim active pin \
    brightness curve levels floor ceiling error power points pwm frequency slowest mode tick use \
    patterns tracks shows roam dwell steady solo change_fade button debounce memory after charge_pump \
    pins clock stages capacitor reservoir diode strings leds parallel forward current switch npn mosfet \
    saturation gain on_resistance from supply input pump series e12 e24 volts tolerance limit other \
    regulator dropout quiescent rating battery cells full empty capacity cut_off self_discharge flashing \
    accepted refused watchdog internal crystal external inputs plays selects sets speed senses light dark bright \
    steady resistance tap next previous brighter darker repeat brightness guard dim reference for start starts \
    standby evening every lux nm K amber candle PB0 PB1 PB2 PB3 PB4 PD0 PD5 PD6 ch1 ch2 ch4 \
    library.yaml beam .. [] {} ~ null * & !";

/// Up to four changes in place, for most seeds; the text's new length. `None`: leave it to the fuzzer.
pub fn mutated(data: &mut [u8], size: usize, most: usize, seed: u32) -> Option<usize> {
    let text = std::str::from_utf8(&data[..size]).ok()?;
    if seed.is_multiple_of(4) {
        return None;
    }
    let changes = 1 + (seed >> 8) % 4;
    let text = (0..changes).fold(text.to_string(), |text, change| {
        changed(&text, seed.wrapping_add(change.wrapping_mul(0x9e37_79b9)))
    });
    let size = text.len().min(most);
    data[..size].copy_from_slice(&text.as_bytes()[..size]);
    Some(size)
}

/// The text with one change, drawn from `seed`.
pub fn changed(text: &str, seed: u32) -> String {
    let mut draw = Draw(seed);
    match draw.below(10) {
        0..=3 => replaced(text, &mut draw, |c| c.is_ascii_digit() || c == '.'),
        4..=6 => replaced(text, &mut draw, |c| {
            c.is_ascii_alphanumeric() || c == '%' || c == '-' || c == '_'
        }),
        kind => lines(text, &mut draw, kind),
    }
}

/// One of its runs of such characters replaced, by a known word or by another run of the text.
fn replaced(text: &str, draw: &mut Draw, within: impl Fn(char) -> bool) -> String {
    let runs: Vec<&str> = text
        .split(|c| !within(c))
        .filter(|run| !run.is_empty())
        .collect();
    if runs.is_empty() {
        return text.to_string();
    }
    let run = runs[draw.below(runs.len())];
    let words: Vec<&str> = WORDS.split_whitespace().collect();
    let by = if draw.below(3) == 0 {
        runs[draw.below(runs.len())]
    } else {
        words[draw.below(words.len())]
    };
    let at = run.as_ptr() as usize - text.as_ptr() as usize;
    format!("{}{by}{}", &text[..at], &text[at + run.len()..])
}

/// A line removed, said again elsewhere, or moved in or out.
fn lines(text: &str, draw: &mut Draw, kind: usize) -> String {
    let mut lines: Vec<String> = text.lines().map(str::to_string).collect();
    if lines.is_empty() {
        return text.to_string();
    }
    let which = draw.below(lines.len());
    match kind {
        7 => drop(lines.remove(which)),
        8 => lines.insert(draw.below(lines.len()), lines[which].clone()),
        _ if draw.below(2) == 0 => lines[which].insert_str(0, "  "),
        _ => {
            lines[which] = lines[which]
                .strip_prefix("  ")
                .unwrap_or(&lines[which])
                .to_string()
        }
    }
    lines.join("\n") + "\n"
}

/// Numbers that look drawn (a linear congruential generator; Knuth, MMIX).
struct Draw(u32);

impl Draw {
    fn below(&mut self, end: usize) -> usize {
        let next = u64::from(self.0)
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        self.0 = (next >> 32) as u32;
        self.0 as usize % end
    }
}
