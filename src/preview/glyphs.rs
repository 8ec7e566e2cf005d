//! Lightness as characters, in equal steps of L*.

use crate::units::Lightness;

/// Which characters a timeline is drawn with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Glyphs {
    /// Blocks of one to eight eighths.
    Blocks,
    /// Plain ASCII. Each character has as much more ink than the one before it: coverage in DejaVu
    /// Sans Mono of 2.6, 7.0, 10.5, 13.6, 17.1, 20.9, 23.7 and 27.1 %, measured.
    Ascii,
}

impl Glyphs {
    /// From the least light to the most.
    pub fn ramp(self) -> &'static [char] {
        match self {
            Self::Blocks => &['▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'],
            Self::Ascii => &['-', ';', '+', 'i', 'o', '$', '#', '@'],
        }
    }

    /// No light at all.
    pub fn dark(self) -> char {
        match self {
            Self::Blocks => '·',
            Self::Ascii => ' ',
        }
    }

    /// The character for a lightness, where the last of the ramp stands for `top`. Any light at all
    /// differs from none.
    pub fn of(self, lightness: Lightness, top: Lightness) -> char {
        if lightness.0 <= 0.0 {
            return self.dark();
        }
        let ramp = self.ramp();
        let step = (lightness.0 / top.0 * ramp.len() as f64 - 1e-9).ceil();
        ramp[(step as usize).clamp(1, ramp.len()) - 1]
    }

    /// Below a column: how many steps begin in it.
    pub fn begins(self, steps: u32) -> char {
        match (self, steps) {
            (_, 0) => ' ',
            (Self::Blocks, 1) => '╵',
            (Self::Blocks, _) => '‖',
            (Self::Ascii, 1) => '\'',
            (Self::Ascii, _) => '"',
        }
    }

    /// Below a column that hides a dip.
    pub fn dip(self) -> char {
        match self {
            Self::Blocks => '≈',
            Self::Ascii => '~',
        }
    }

    /// The time axis: its line, and a mark on it.
    pub fn axis(self) -> (char, char) {
        match self {
            Self::Blocks => ('─', '┬'),
            Self::Ascii => ('-', '+'),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_glyph_stands_for_an_equal_share_of_lightness() {
        for glyphs in [Glyphs::Blocks, Glyphs::Ascii] {
            let mut counts = std::collections::BTreeMap::new();
            for l in 1..=800 {
                let glyph = glyphs.of(Lightness(f64::from(l) / 10.0), Lightness(80.0));
                *counts.entry(glyph).or_insert(0) += 1;
            }
            assert!(counts.values().all(|count| *count == 100), "{counts:?}");
            assert_eq!(counts.len(), 8);
        }
    }

    #[test]
    fn any_light_differs_from_none() {
        assert_eq!(Glyphs::Blocks.of(Lightness(0.0), Lightness(90.0)), '·');
        assert_eq!(Glyphs::Blocks.of(Lightness(0.001), Lightness(90.0)), '▁');
        assert_eq!(Glyphs::Blocks.of(Lightness(90.1), Lightness(90.0)), '█');
    }
}
