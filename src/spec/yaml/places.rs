//! Turns the parser's character counts into byte offsets.

/// Characters between two marks.
const STRIDE: usize = 256;

/// Byte offset by character index, looked up from marks a stride apart.
pub(super) struct Places<'s> {
    text: &'s str,
    /// Byte offset of every [`STRIDE`]th character; empty when all characters are single bytes.
    marks: Vec<u32>,
}

impl<'s> Places<'s> {
    pub(super) fn new(text: &'s str) -> Self {
        let marks = if text.is_ascii() {
            Vec::new()
        } else {
            text.char_indices()
                .step_by(STRIDE)
                .map(|(byte, _)| byte as u32)
                .collect()
        };
        Self { text, marks }
    }

    /// The byte offset of a character; the text's length for one past the end.
    pub(super) fn byte(&self, character: usize) -> u32 {
        let end = self.text.len();
        if self.marks.is_empty() {
            return character.min(end) as u32;
        }
        let Some(&mark) = self.marks.get(character / STRIDE) else {
            return end as u32;
        };
        let rest = &self.text[mark as usize..];
        let within = rest
            .char_indices()
            .nth(character % STRIDE)
            .map_or(rest.len(), |(at, _)| at);
        mark + within as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn characters_and_bytes_agree() {
        for text in ["plain".repeat(200), "µ → ☾ x".repeat(200), String::new()] {
            let places = Places::new(&text);
            for (index, (byte, _)) in text.char_indices().enumerate() {
                assert_eq!(places.byte(index), byte as u32);
            }
            assert_eq!(places.byte(text.chars().count()), text.len() as u32);
            assert_eq!(places.byte(1 << 20), text.len() as u32);
        }
    }
}
