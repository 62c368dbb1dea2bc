//! Any bytes are read, in both languages: blocks tile the text and every expression has a value or an error.
#![no_main]

use lastply::syntax::{Block, Blocks, Lexis, Parameters, Value};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    for strict in [false, true] {
        let parameters = if strict { Parameters::strict() } else { Parameters::default() };
        let (mut blocks, mut block, mut at) = (Blocks::new(bytes, 0, Lexis { strict }), Block::default(), 0);
        while blocks.next(&mut block) {
            assert_eq!((block.span.start, block.span.end), (at, block.end.start));
            at = block.end.end;
            for word in &block.words {
                if let Value::Expression(formula) = &word.value {
                    assert!(formula.eval(&parameters).is_ok_and(f64::is_finite) || formula.eval(&parameters).is_err());
                }
            }
        }
        assert_eq!(at as usize, bytes.len());
    }
});
