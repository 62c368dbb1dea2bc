//! One line of text into one block: what each first character begins.

use nom::Parser;
use nom::combinator::map;

use super::formula::{Formula, begins_number};
use super::frame::nothing_read;
use super::number::{number, plain};
use super::statement;
use super::text::{Read, Trouble, comment, digits, is_blank, letters, recover, skip_blanks, symbol};
use super::{Assignment, Block, Control, ControlKind, SyntaxFault, SyntaxFaultKind, Value, Word};
use crate::source::Span;

/// Letters that the strict language has no word for; N is no word but the line number.
const UNDEFINED_IN_STRICT: &[u8] = b"ENOUVW";

/// A line without its end, and where it stands in the file.
pub(super) struct Line<'l> {
    pub text: &'l [u8],
    /// The same with what stands behind its end.
    pub wide: &'l [u8],
    pub base: u32,
    pub strict: bool,
}

impl<'l> Line<'l> {
    /// Reads everything behind the first `skip` bytes into `block`.
    pub fn read(&self, skip: usize, block: &mut Block) {
        let mut rest = self.text.get(skip..).unwrap_or_default();
        while let [first, after @ ..] = rest {
            rest = match first.to_ascii_uppercase() {
                b'N' => self.line_number(rest, after, block),
                b'O' | b':' if self.opens_program(block) => self.program_number(rest, after, block),
                letter @ b'A'..=b'Z' => self.word(letter, rest, after, block),
                b'(' => self.comment(rest, block),
                b';' => self.remark(rest, block),
                b'#' => self.setting(rest, after, block),
                b'/' => self.slash(rest, after, block),
                b'%' if nothing_read(block) => self.percent(rest, after, block),
                b',' => self.corner(rest, after, block),
                b'=' | b'"' if !self.strict => self.foreign(rest, block),
                blank if is_blank(blank) => after,
                _ => self.fault(SyntaxFaultKind::BadCharacter, rest, recover(rest, after), block),
            };
        }
    }

    /// Bytes from the tail `from` of the line up to its tail `to`.
    #[expect(clippy::cast_possible_truncation, reason = "a line is at most 65536 bytes long")]
    pub fn span(&self, from: &[u8], to: &[u8]) -> Span {
        let at = |tail: &[u8]| self.base + (self.text.len() - tail.len()) as u32;
        Span::new(at(from), at(to))
    }

    /// Reports the text from `from` to `to` without the blanks at its end, and reads on at `to`.
    pub fn fault(&self, kind: SyntaxFaultKind, from: &[u8], to: &'l [u8], block: &mut Block) -> &'l [u8] {
        let text = from.get(..from.len() - to.len()).unwrap_or_default();
        let blank_end = text.iter().rev().take_while(|byte| skip_blanks(&[**byte]).is_empty()).count();
        let mut span = self.span(from, to);
        span.end -= u32::try_from(blank_end).unwrap_or(0);
        block.faults.push(SyntaxFault { kind, span });
        to
    }

    /// Reports a word or setting that begins at `from` and whose value, at `value`, could not be read.
    fn failed(&self, error: nom::Err<Trouble<'l>>, from: &'l [u8], value: &'l [u8], block: &mut Block) -> &'l [u8] {
        let (nom::Err::Error(trouble) | nom::Err::Failure(trouble)) = error else { return &[] };
        let to = match trouble.kind {
            SyntaxFaultKind::NamedParameter => &[],
            _ => recover(value, trouble.rest),
        };
        self.fault(trouble.kind, from, to, block)
    }

    #[inline]
    fn word(&self, letter: u8, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        if !(self.strict && UNDEFINED_IN_STRICT.contains(&letter))
            && let Some(wide) = self.wide.get(self.text.len() - after.len()..)
            && let Some((rest, number)) = plain(after, wide)
        {
            block.words.push(Word { letter, value: Value::Number(number), span: self.span(from, rest) });
            return rest;
        }
        self.unusual_word(letter, from, after, block)
    }

    /// A word with blanks, an expression or something wrong behind its letter.
    #[cold]
    fn unusual_word(&self, letter: u8, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        let named = after.first().is_some_and(u8::is_ascii_alphabetic);
        if named
            && !self.strict
            && let Some(kind) = statement::keyword(from)
        {
            return self.control(kind, from, block);
        }
        match value(after, self.strict) {
            Ok(_) if self.strict && UNDEFINED_IN_STRICT.contains(&letter) => {
                self.fault(SyntaxFaultKind::BadCharacter, from, recover(after, after), block)
            }
            Ok((rest, value)) => {
                block.words.push(Word { letter, value, span: self.span(from, rest) });
                rest
            }
            Err(error) => self.no_word(error, from, after, block),
        }
    }

    /// Letters that turned out not to begin a word: a statement, a name, or a word with a broken value.
    fn no_word(&self, error: nom::Err<Trouble<'l>>, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        let Ok((behind, name)) = letters(from) else { return &[] };
        if self.strict {
            return self.failed(error, from, after, block);
        }
        let (numbered, _, _) = digits(behind);
        if symbol(b"=")(numbered).is_ok() {
            return self.control(ControlKind::Foreign, from, block);
        }
        let bare = matches!(&error, nom::Err::Error(trouble) if trouble.kind == SyntaxFaultKind::MissingValue);
        if bare && name.len() > 2 {
            return self.fault(SyntaxFaultKind::UnknownName, from, recover(from, numbered), block);
        }
        self.failed(error, from, after, block)
    }

    pub fn control(&self, kind: ControlKind, from: &[u8], block: &mut Block) -> &'l [u8] {
        block.control = Some(Control { kind, span: self.span(from, &[]) });
        &[]
    }

    /// An equal sign, and then the word before it was a name being set, or a quote.
    fn foreign(&self, from: &'l [u8], block: &mut Block) -> &'l [u8] {
        let mut span = self.span(from, &[]);
        let touches = |word: &mut Word| {
            let between = Span::new(word.span.end - self.base, span.start - self.base).of(self.text);
            from.first() == Some(&b'=') && skip_blanks(between).is_empty()
        };
        if let Some(word) = block.words.pop_if(touches) {
            span.start = word.span.start;
        }
        block.control = Some(Control { kind: ControlKind::Foreign, span });
        &[]
    }

    fn setting(&self, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        let formula = Formula::new(self.strict);
        let (rest, target) = match formula.index(after) {
            Ok(read) => read,
            Err(error) => return self.failed(error, from, after, block),
        };
        let Ok((equal, ())) = symbol(b"=")(rest) else {
            return self.fault(SyntaxFaultKind::EqualMissing, from, recover(after, rest), block);
        };
        // Dialects let a formula stand without brackets; the strict language wants one value.
        let value = if self.strict { formula.value(equal) } else { formula.chain(0, equal) };
        match value {
            Ok((rest, value)) => {
                block.assignments.push(Assignment { target, value, span: self.span(from, rest) });
                rest
            }
            Err(error) => self.failed(error, from, after, block),
        }
    }

    fn comment(&self, from: &'l [u8], block: &mut Block) -> &'l [u8] {
        let comment = comment(from);
        if let Some(inner) = comment.nested {
            let behind = inner.get(1..).unwrap_or_default();
            self.fault(SyntaxFaultKind::NestedComment, inner, behind, block);
        }
        if !comment.closed {
            self.fault(SyntaxFaultKind::UnclosedComment, from, &[], block);
        }
        block.comments.push(self.span(from, comment.rest));
        comment.rest
    }

    /// A semicolon and everything behind it.
    fn remark(&self, from: &'l [u8], block: &mut Block) -> &'l [u8] {
        if self.strict {
            return self.fault(SyntaxFaultKind::BadCharacter, from, &[], block);
        }
        block.comments.push(self.span(from, &[]));
        &[]
    }

    /// `,R` and `,C` take their word along, so that it is not read as an arc radius or a rotary axis.
    fn corner(&self, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        if let [b'R' | b'r' | b'C' | b'c', number @ ..] = skip_blanks(after)
            && let Ok((rest, _)) = value(number, self.strict)
        {
            return self.fault(SyntaxFaultKind::CornerWord, from, rest, block);
        }
        self.fault(SyntaxFaultKind::BadCharacter, from, recover(from, after), block)
    }
}

/// What stands behind a letter.
fn value(text: &[u8], strict: bool) -> Read<'_, Value> {
    let text = skip_blanks(text);
    let unsigned = text.strip_prefix(b"-").or(text.strip_prefix(b"+")).unwrap_or(text);
    if begins_number(unsigned) {
        return map(number, Value::Number).parse(text);
    }
    map(|text| Formula::new(strict).value(text), |formula| Value::Expression(Box::new(formula))).parse(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::syntax::{Expression, Parameters};

    fn read(text: &str, strict: bool) -> Block {
        let mut block = Block::default();
        Line { text: text.as_bytes(), wide: text.as_bytes(), base: 0, strict }.read(0, &mut block);
        block
    }

    /// Words as letter and value, unknown values left out.
    fn words(text: &str) -> String {
        let values = Parameters::default();
        let shown = |word: &Word| match &word.value {
            Value::Number(number) => format!("{}{}", char::from(word.letter), number.value),
            Value::Expression(formula) => format!("{}={:?}", char::from(word.letter), formula.eval(&values)),
        };
        read(text, false).words.iter().map(shown).collect::<Vec<_>>().join(" ")
    }

    fn faults(text: &str, strict: bool) -> Vec<(SyntaxFaultKind, &str)> {
        let shown = |fault: &SyntaxFault| (fault.kind, &text[fault.span.start as usize..fault.span.end as usize]);
        read(text, strict).faults.iter().map(shown).collect()
    }

    #[test]
    fn a_posted_block_keeps_its_words_and_spans() {
        let text = "N40 G83 X10. y-.5 Z-8.4R2. (peck) F90.";
        let block = read(text, false);
        assert_eq!(words(text), "G83 X10 Y-0.5 Z-8.4 R2 F90");
        assert_eq!(block.n.unwrap().of(text.as_bytes()), b"N40");
        assert_eq!(block.comments[0].of(text.as_bytes()), b"(peck)");
        assert_eq!(block.word(b'Y').unwrap().span.of(text.as_bytes()), b"y-.5");
        assert!(block.faults.is_empty());
    }

    #[test]
    fn blanks_and_case_mean_nothing() {
        assert_eq!(words("g0x +0. 12 34y 7"), "G0 X0.1234 Y7");
        assert_eq!(words("\0\0g 1 0\tx1\u{1a}"), "G10 X1");
    }

    #[test]
    fn comments_of_both_styles_and_broken_ones() {
        assert!(faults("(first) g0 (second) ; third (", false).is_empty());
        assert_eq!(faults("(2D Pocket (2)) X5", false), [(SyntaxFaultKind::NestedComment, "(")]);
        assert_eq!(words("(2D Pocket (2)) X5"), "X5");
        assert_eq!(faults("g0 x1 (abc", true), [(SyntaxFaultKind::UnclosedComment, "(abc")]);
        assert_eq!(faults("g0 ; abc", true), [(SyntaxFaultKind::BadCharacter, "; abc")]);
    }

    #[test]
    fn reading_goes_on_behind_bad_text() {
        use SyntaxFaultKind as Kind;
        for (text, kind, bad, rest) in [
            ("g0 x1 ? y2", Kind::BadCharacter, "?", "G0 X1 Y2"),
            ("g0 x y2", Kind::MissingValue, "x", "G0 Y2"),
            ("g0 x- y2", Kind::NoDigits, "x-", "G0 Y2"),
            ("g0 x1.2.3 y2", Kind::BadNumber, "x1.2.3", "G0 Y2"),
            ("g0 x[1+2", Kind::UnclosedExpression, "x[1+2", "G0"),
            ("g0 x[1 b 2] y2", Kind::UnknownOperation, "x[1 b 2]", "G0 Y2"),
            ("g0 x asim[1] y2", Kind::UnknownFunction, "x asim[1]", "G0 Y2"),
            ("g0 xsin 30 y2", Kind::BracketMissing, "xsin 30", "G0 Y2"),
            ("g0 x atan[1][2] y2", Kind::SlashMissing, "x atan[1][2]", "G0 Y2"),
            ("#1 5 y2", Kind::EqualMissing, "#1 5", "Y2"),
            ("G1 X5 ,R2. Y7", Kind::CornerWord, ",R2.", "G1 X5 Y7"),
            ("GX1", Kind::MissingValue, "G", "X1"),
            ("TRAORI X1", Kind::UnknownName, "TRAORI", "X1"),
            ("XNaN Y1", Kind::UnknownName, "XNaN", "Y1"),
            ("G1 X#<depth> Y1", Kind::NamedParameter, "X#<depth> Y1", "G1"),
        ] {
            assert_eq!(faults(text, false), [(kind, bad)], "{text}");
            assert_eq!(words(text), rest, "{text}");
        }
    }

    #[test]
    fn statements_are_recognised_and_not_read() {
        for (text, kind, from) in [
            ("IF [#1 GT #2] GOTO 20", ControlKind::If, 0),
            ("N5 WHILE[#1LT#2]DO1", ControlKind::While, 3),
            ("END1", ControlKind::End, 0),
            ("GOTO 20", ControlKind::Goto, 0),
            ("G1 X=AC(5)", ControlKind::Foreign, 3),
            ("R1 = 5", ControlKind::Foreign, 0),
            ("CR=5", ControlKind::Foreign, 0),
            ("T=\"DRILL_8\" M6", ControlKind::Foreign, 0),
        ] {
            let block = read(text, false);
            let end = u32::try_from(text.len()).unwrap();
            assert_eq!(block.control, Some(Control { kind, span: Span::new(from, end) }), "{text}");
            assert!(block.faults.is_empty(), "{text}");
        }
    }

    #[test]
    fn settings_and_signs_of_dialects() {
        let block = read("#3=15 #[4+1]=#2*SIN[30]", false);
        assert_eq!(block.assignments.len(), 2);
        assert_eq!(block.assignments[0].target, Expression::Number(3.0));
        assert_eq!(words("X-[3] Y+[2] Z-ROUND[1.6]"), "X=Ok(-3.0) Y=Ok(2.0) Z=Ok(-2.0)");
        assert_eq!(faults("X-[3]", true), [(SyntaxFaultKind::NoDigits, "X-[3]")]);
        assert_eq!(words("X[1--3]"), "X=Ok(4.0)");
        assert_eq!(faults("E5", true), [(SyntaxFaultKind::BadCharacter, "E5")]);
    }

    #[test]
    fn deep_and_long_expressions_end_in_a_fault() {
        for text in [
            format!("X{}", "[".repeat(60_000)),
            format!("X{}1", "#".repeat(60_000)),
            format!("X[1{}]", "+1".repeat(30_000)),
        ] {
            assert_eq!(faults(&text, false)[0].0, SyntaxFaultKind::ExpressionTooLong);
        }
    }
}
