//! Block numbers that now stand before other moves, so that whoever restarts by an old list is told.

use crate::patch::number;
use crate::syntax::{Block, Blocks, Lexis};
use std::collections::BTreeMap;

/// Where a block goes, as typed: its axis words.
type Goes = Vec<(u8, Option<u64>)>;

/// How many block numbers of the old text stand before other axis words in the new one, or nowhere.
pub(super) fn moved(old: &[u8], new: &[u8]) -> usize {
    let (was, is) = (numbered(old), numbered(new));
    was.iter().filter(|(number, goes)| is.get(*number) != Some(*goes)).count()
}

/// The first block of each number; a number is compared as typed.
fn numbered(bytes: &[u8]) -> BTreeMap<&[u8], Goes> {
    let mut numbered = BTreeMap::new();
    let mut blocks = Blocks::new(bytes, 0, Lexis::default());
    let mut block = Block::default();
    while blocks.next(&mut block) {
        if let Some(n) = block.n {
            let axes = block.words.iter().filter(|word| matches!(word.letter, b'X' | b'Y' | b'Z'));
            let goes = axes.map(|word| (word.letter, number(word).map(f64::to_bits))).collect();
            numbered.entry(n.of(bytes)).or_insert(goes);
        }
    }
    numbered
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_moves_with_its_axis_words_only() {
        let old = b"N10 G81 X1. Z-2. F100.\nN20 X2.\nX3.\nN30 G80\n";
        assert_eq!(moved(old, b"N10 G81 X1. Z-2. F200.\nN20 X2.\nX3.\nN30 G80\n"), 0, "only a feed");
        assert_eq!(moved(old, b"N10 G81 X2. Z-2. F100.\nN20 X1.\nX3.\nN30 G80\n"), 2, "two places swapped");
        assert_eq!(moved(old, b"N10 G81 X1. Z-2. F100.\nX2.\nX3.\nN30 G80\n"), 1, "one is gone");
    }
}
