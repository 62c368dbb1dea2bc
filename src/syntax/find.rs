//! Finds one word in text that has been read before.

use super::{Block, Blocks, Lexis};
use crate::source::Span;

/// The first word with `letter` (upper case) in the line that begins at `within.start`, no further than `within.end`.
#[must_use]
pub fn word_span(bytes: &[u8], within: Span, letter: u8) -> Option<Span> {
    let bytes = bytes.get(..within.end as usize)?;
    let mut block = Block::default();
    Blocks::new(bytes, within.start as usize, Lexis::default()).next(&mut block);
    block.word(letter).map(|word| word.span).or_else(|| block.n.filter(|_| letter == b'N'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_found_in_its_line_only() {
        let text = b"N10 G1 X5 F100\nX6 F200";
        assert_eq!(word_span(text, Span::new(0, 14), b'F').map(|span| span.of(text)), Some(&b"F100"[..]));
        assert_eq!(word_span(text, Span::new(0, 14), b'Z'), None);
        assert_eq!(word_span(text, Span::new(18, 22), b'F'), Some(Span::new(18, 22)));
    }
}
