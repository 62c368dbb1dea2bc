//! Sequence numbers for inserted lines, none of which a jump or call could already mean.

use crate::source::Span;
use crate::syntax::{Block, Blocks, Lexis};

/// Every sequence number of a text.
#[derive(Clone, Debug, Default)]
pub struct Numbering {
    used: Vec<u64>,
}

impl Numbering {
    /// Reads the N words of `bytes`.
    #[must_use]
    pub fn learn(bytes: &[u8]) -> Self {
        let mut used = Vec::new();
        let mut blocks = Blocks::new(bytes, 0, Lexis::default());
        let mut block = Block::default();
        while blocks.next(&mut block) {
            used.extend(block.n.and_then(|n| value_of(n, bytes)));
        }
        used.sort_unstable();
        used.dedup();
        Self { used }
    }

    /// N words for `count` lines behind the one whose N word is `n`, in the same writing; `None` when the numbers that
    /// follow are taken. N numbers are what GOTO and calls to a block look for, so a number is never used twice.
    #[must_use]
    pub fn behind(&self, n: Span, bytes: &[u8], count: usize) -> Option<Vec<String>> {
        let first = value_of(n, bytes)? + 1;
        let last = first + u64::try_from(count).ok()?;
        let next_used = self.used.get(self.used.partition_point(|used| *used < first));
        if next_used.is_some_and(|used| *used < last) {
            return None;
        }
        let letter = char::from(*n.of(bytes).first()?);
        let width = n.of(bytes).iter().filter(|byte| byte.is_ascii_digit()).count();
        Some((first..last).map(|number| format!("{letter}{number:0width$}")).collect())
    }
}

fn value_of(n: Span, bytes: &[u8]) -> Option<u64> {
    let digits: Vec<u8> = n.of(bytes).iter().copied().filter(u8::is_ascii_digit).collect();
    std::str::from_utf8(&digits).ok()?.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn behind(text: &str, count: usize) -> Option<Vec<String>> {
        let end = text.find(' ').unwrap();
        let n = Span::new(0, u32::try_from(end).unwrap());
        Numbering::learn(text.as_bytes()).behind(n, text.as_bytes(), count)
    }

    #[test]
    fn numbers_between_neighbours_are_taken_in_order() {
        assert_eq!(behind("N0410 G81\nN0420 X1\n", 2), Some(vec!["N0411".to_owned(), "N0412".to_owned()]));
    }

    #[test]
    fn a_number_that_stands_elsewhere_is_never_used_again() {
        assert_eq!(behind("N10 G81\nN20 X1\nN12 M99\n", 2), None);
        assert_eq!(behind("N1 G81\nN2 X1\n", 1), None);
    }
}
