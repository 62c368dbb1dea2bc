//! What must hold for every input, sense or nonsense.

use lastply::source::Span;
use lastply::syntax::{Block, Blocks, Lexis, Parameters, Value};
use proptest::prelude::*;

/// Pieces that meet each other badly.
const PIECES: [&str; 64] = [
    "G",
    "X",
    "N10",
    "O100",
    "%",
    "/",
    "(",
    ")",
    ";",
    "#",
    "[",
    "]",
    "=",
    "+",
    "-",
    "*",
    "**",
    ".",
    "1",
    "0",
    "1.5",
    "-.5",
    "99999999999999999999",
    " ",
    "\t",
    "\0",
    "\u{1a}",
    "\r",
    "\n",
    "\r\n",
    "\u{feff}",
    "é",
    "IF",
    "WHILE",
    "DO1",
    "GOTO",
    "END",
    "SIN",
    "ATAN",
    "LN[0]",
    "MOD",
    "AND",
    "OR",
    "XOR",
    "<a>",
    "\"",
    ",R1",
    ",",
    "$",
    "sub",
    "G1X1Y2",
    "#1=2",
    "#[1]",
    "X#1",
    "X-[1/0]",
    "[1+2]",
    "N",
    "O",
    ":",
    "//",
    "(a(b)",
    "acos[2]",
    "_",
    "E5",
];

fn soup() -> impl Strategy<Value = Vec<u8>> {
    let pieces = proptest::collection::vec(proptest::sample::select(PIECES.to_vec()), 0..60);
    prop_oneof![
        proptest::collection::vec(any::<u8>(), 0..300),
        proptest::collection::vec(0x20_u8..0x60, 0..300),
        pieces.prop_map(|pieces| pieces.concat().into_bytes()),
    ]
}

fn read(bytes: &[u8], strict: bool) -> Vec<Block> {
    let (mut blocks, mut block, mut all) = (Blocks::new(bytes, 0, Lexis { strict }), Block::default(), Vec::new());
    while blocks.next(&mut block) {
        all.push(block.clone());
    }
    all
}

/// Every span that accounts for bytes of a block.
fn accounted(block: &Block) -> Vec<Span> {
    let mut spans: Vec<Span> = block.words.iter().map(|word| word.span).collect();
    spans.extend(block.assignments.iter().map(|setting| setting.span));
    spans.extend(&block.comments);
    spans.extend(block.n);
    spans.extend(block.percent);
    spans.extend(block.delete.map(|(span, _)| span));
    spans.extend(block.program.map(|(span, _)| span));
    spans.extend(block.control.map(|control| control.span));
    spans
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(3000) })]

    #[test]
    fn blocks_tile_the_file(bytes in soup(), strict: bool) {
        let mut copy: Vec<u8> = Vec::new();
        for block in read(&bytes, strict) {
            prop_assert_eq!(block.span.start as usize, copy.len());
            prop_assert_eq!(block.span.end, block.end.start);
            copy.extend(block.span.of(&bytes));
            copy.extend(block.end.of(&bytes));
        }
        prop_assert_eq!(copy, bytes);
    }

    #[test]
    fn every_byte_is_read_or_reported_once(bytes in soup(), strict: bool) {
        let blank = |byte: &u8| matches!(byte, b' ' | b'\t' | 0 | 0x0B | 0x0C | 0x1A | 0x7F);
        for block in read(&bytes, strict) {
            let mut spans = accounted(&block);
            spans.sort_unstable();
            for pair in spans.windows(2) {
                prop_assert!(pair[0].end <= pair[1].start, "{:?} overlaps", pair);
            }
            spans.extend(block.faults.iter().map(|fault| fault.span));
            let text = block.span.of(&bytes);
            let mark = if block.span.start == 0 && text.starts_with(b"\xEF\xBB\xBF") { 3 } else { 0 };
            for (at, byte) in text.iter().enumerate().skip(mark).filter(|(_, byte)| !blank(byte)) {
                let at = block.span.start + at as u32;
                let held = spans.iter().any(|span| (span.start..span.end).contains(&at));
                prop_assert!(held, "byte {} {:?} of {}", at, *byte as char, text.escape_ascii());
            }
            for fault in &block.faults {
                prop_assert!(block.span.start <= fault.span.start && fault.span.end <= block.span.end);
                prop_assert!(!fault.span.is_empty());
            }
        }
    }

    #[test]
    fn reading_twice_gives_the_same(bytes in soup(), strict: bool) {
        prop_assert_eq!(read(&bytes, strict), read(&bytes, strict));
    }

    #[test]
    fn what_strict_takes_means_the_same_in_dialects(bytes in soup()) {
        for (strict, dialect) in read(&bytes, true).into_iter().zip(read(&bytes, false)) {
            if strict.faults.is_empty() {
                prop_assert_eq!(strict, dialect);
            }
        }
    }

    #[test]
    fn expressions_have_a_value_or_an_error(bytes in soup(), strict: bool) {
        let parameters = if strict { Parameters::strict() } else { Parameters::default() };
        for word in read(&bytes, strict).into_iter().flat_map(|block| block.words) {
            if let Value::Expression(formula) = word.value && let Ok(value) = formula.eval(&parameters) {
                prop_assert!(value.is_finite());
            }
        }
    }

    #[test]
    fn numbers_are_the_nearest_float(text in "[+-]?([0-9]{1,25}(\\.[0-9]{0,25})?|\\.[0-9]{1,25})") {
        let line = format!("X{text}Y1");
        let block = read(line.as_bytes(), true).pop().unwrap();
        let Value::Number(number) = block.words[0].value else { panic!("{text} is a number") };
        prop_assert_eq!(number.value.to_bits(), text.parse::<f64>().unwrap().to_bits());
        prop_assert_eq!(number.point, text.contains('.'));
    }
}

#[test]
fn endless_nonsense_is_read_in_one_pass() {
    for piece in ["[", "#", "(", "X-", "X1", "?", "((", "/", "X[1", "-", "1 ", "NN", "\0", "#1=", "X#"] {
        for size in [60_000, 300_000] {
            let text = piece.repeat(size / piece.len());
            assert_eq!(read(text.as_bytes(), false).len(), 1, "{piece}");
        }
    }
}
