//! Words and values of generated programs against the general-purpose parsing crate `gcode`, which knows nothing of
//! cycles or modes. Its values are single precision, so values agree to one part in a million.

use gcode::core::{
    BlockVisitor, CommandVisitor, ControlFlow, Diagnostics, HasDiagnostics, Number, ProgramVisitor, Span,
};
use lastply::syntax::{Block, Blocks, Lexis, Value};
use proptest::prelude::*;

/// Letters and values of one program, block by block.
#[derive(Default)]
struct Seen {
    words: Vec<(char, f64)>,
    silent: Silent,
}

#[derive(Default)]
struct Silent;

impl Diagnostics for Silent {}

struct Part<'a>(&'a mut Seen);

impl HasDiagnostics for Seen {
    fn diagnostics(&mut self) -> &mut dyn Diagnostics {
        &mut self.silent
    }
}

impl HasDiagnostics for Part<'_> {
    fn diagnostics(&mut self) -> &mut dyn Diagnostics {
        &mut self.0.silent
    }
}

impl ProgramVisitor for Seen {
    fn start_block(&mut self) -> ControlFlow<impl BlockVisitor + '_> {
        ControlFlow::Continue(Part(self))
    }
}

impl Part<'_> {
    fn value(&mut self, letter: char, value: &gcode::core::Value<'_>) {
        if let gcode::core::Value::Literal(value) = value {
            self.0.words.push((letter, f64::from(*value)));
        }
    }

    fn code(&mut self, letter: char, number: Number) -> ControlFlow<Part<'_>> {
        let minor = number.minor().map_or(0.0, |minor| f64::from(minor.get()) / 10.0);
        self.0.words.push((letter, f64::from(number.major()) + minor));
        ControlFlow::Continue(Part(self.0))
    }
}

impl BlockVisitor for Part<'_> {
    fn word_address(&mut self, letter: char, value: gcode::core::Value<'_>, _span: Span) {
        self.value(letter, &value);
    }

    fn start_general_code(&mut self, number: Number) -> ControlFlow<impl CommandVisitor + '_> {
        self.code('G', number)
    }

    fn start_miscellaneous_code(&mut self, number: Number) -> ControlFlow<impl CommandVisitor + '_> {
        self.code('M', number)
    }

    fn start_tool_change_code(&mut self, number: Number) -> ControlFlow<impl CommandVisitor + '_> {
        self.code('T', number)
    }
}

impl CommandVisitor for Part<'_> {
    fn argument(&mut self, letter: char, value: gcode::core::Value<'_>, _span: Span) {
        self.value(letter, &value);
    }
}

fn theirs(text: &str) -> Vec<(char, f64)> {
    let mut seen = Seen::default();
    gcode::core::parse(text, &mut seen);
    seen.words
}

fn ours(text: &str) -> Vec<(char, f64)> {
    let (mut blocks, mut block, mut words) =
        (Blocks::new(text.as_bytes(), 0, Lexis::default()), Block::default(), Vec::new());
    while blocks.next(&mut block) {
        for word in &block.words {
            if let Value::Number(number) = &word.value {
                words.push((char::from(word.letter), number.value));
            }
        }
    }
    words
}

fn length() -> impl Strategy<Value = String> {
    (-999_999i32..=999_999, 0..4usize).prop_map(|(thousandths, form)| {
        let value = f64::from(thousandths) / 1000.0;
        match form {
            0 => format!("{value:.3}"),
            1 => format!("{value:.1}"),
            2 => format!("{}.", value.trunc() as i64),
            _ => format!("{}", value.trunc() as i64),
        }
    })
}

fn block() -> impl Strategy<Value = String> {
    let moves =
        (prop_oneof![Just("G0"), Just("G1"), Just("G81"), Just("G83")], length(), length(), length(), 1..9999u32)
            .prop_map(|(code, x, y, z, feed)| format!("{code} X{x} Y{y} Z{z} F{feed}"));
    let others = prop_oneof![
        Just("M3 S4000".to_owned()),
        Just("T12 M6".to_owned()),
        Just("G90 G54".to_owned()),
        Just("(A COMMENT X9)".to_owned()),
    ];
    prop_oneof![3 => moves, 1 => others]
}

proptest! {
    #[test]
    fn words_and_values_agree(blocks in prop::collection::vec(block(), 1..40)) {
        let text = blocks.join("\n") + "\n";
        let (ours, mut theirs) = (ours(&text), theirs(&text));
        // The crate hands plain S and T words over behind the codes of their block; order inside a block means nothing.
        let mut mine = ours.clone();
        let order = |a: &(char, f64), b: &(char, f64)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1));
        mine.sort_by(order);
        theirs.sort_by(order);
        prop_assert_eq!(mine.len(), theirs.len(), "{}", text);
        for (a, b) in mine.iter().zip(&theirs) {
            prop_assert_eq!(a.0, b.0);
            prop_assert!((a.1 - b.1).abs() <= 1e-6 * a.1.abs().max(1.0), "{:?} {:?}", a, b);
        }
    }
}
