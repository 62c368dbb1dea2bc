//! Strokes that several holes share, written once as a subprogram behind the program.

use super::block_edit::{Line, Text};
use super::edit::Edit;
use crate::source::Library;
use crate::syntax::{Block, Blocks, Lexis};
use std::cell::RefCell;
use std::collections::BTreeMap;

/// Numbers tried before sharing is given up.
const TRIES: u32 = 1000;

/// Strokes seen while holes are written out, and the numbers of those worth a subprogram.
#[derive(Default)]
pub struct Shared {
    uses: RefCell<BTreeMap<Vec<Line>, u32>>,
    numbers: BTreeMap<Vec<Line>, u32>,
}

impl Shared {
    /// Counts one use of `strokes` and gives the number of the subprogram that holds them, if there is one.
    pub fn number_of(&self, strokes: &[Line]) -> Option<u32> {
        *self.uses.borrow_mut().entry(strokes.to_vec()).or_default() += 1;
        self.numbers.get(strokes).copied()
    }

    /// Gives a free program number to all strokes counted at least twice.
    #[must_use]
    pub fn numbered(self, text: &Text<'_>, library: &dyn Library) -> Self {
        let mut next = highest_number(text) + 1;
        let mut numbers = BTreeMap::new();
        for (strokes, _) in self.uses.into_inner().into_iter().filter(|(_, uses)| *uses > 1) {
            let Some(free) = (next..next + TRIES).find(|number| library.find(*number).is_none()) else { break };
            numbers.insert(strokes, free);
            next = free + 1;
        }
        Self { uses: RefCell::default(), numbers }
    }

    /// The subprograms, to be put behind the program: before a last `%`, else at the end of the text.
    #[must_use]
    pub fn subprograms(&self, text: &Text<'_>) -> Option<Edit> {
        if self.numbers.is_empty() {
            return None;
        }
        let newline = text.style.newline;
        let mut written = String::new();
        for (strokes, number) in &self.numbers {
            let lines = strokes.iter().map(|line| text.style.join(line));
            for line in std::iter::once(format!("O{number}")).chain(lines).chain([text.style.code(b'M', 99)]) {
                written.push_str(&line);
                written.push_str(newline);
            }
        }
        let length = text.bytes.len();
        let at = last_percent(text).unwrap_or(u32::try_from(length).unwrap_or(u32::MAX));
        if at as usize == length && !text.bytes.ends_with(b"\n") && !text.bytes.ends_with(b"\r") {
            written.insert_str(0, newline);
        }
        Some(Edit::insert(at, written))
    }
}

/// The highest program number of a text; 1000 when it has none above.
fn highest_number(text: &Text<'_>) -> u32 {
    blocks(text).filter_map(|block| block.program.map(|(_, number)| number)).fold(1000, u32::max)
}

/// Where the last line begins, when it is a percent sign that ends the text.
fn last_percent(text: &Text<'_>) -> Option<u32> {
    let last = blocks(text).filter(|block| !block.is_empty() || block.percent.is_some()).last()?;
    last.percent.map(|_| last.span.start)
}

fn blocks<'t>(text: &'t Text<'_>) -> impl Iterator<Item = Block> + 't {
    let mut blocks = Blocks::new(text.bytes, 0, Lexis::default());
    std::iter::from_fn(move || {
        let mut block = Block::default();
        blocks.next(&mut block).then_some(block)
    })
}
