//! What frames a block: line number, program number, percent sign and block delete.

use super::line::Line;
use super::statement;
use super::text::{digits, letters, recover, short_count, skip_blanks, symbol};
use super::{Block, ControlKind, SyntaxFaultKind};

impl<'l> Line<'l> {
    /// N and its digits, which lead their block.
    pub fn line_number(&self, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        let wide = self.wide.get(self.text.len() - after.len()..).unwrap_or_default();
        if let Some(rest) = short_count(wide).and_then(|count| after.get(count..))
            && !self.strict
            && block.words.is_empty()
            && block.n.is_none()
            && block.is_empty()
        {
            block.n = Some(self.span(from, rest));
            return rest;
        }
        let (rest, count, _) = digits(after);
        if count == 0 || symbol(b".")(rest).is_ok() {
            let Ok((behind, name)) = letters(from) else { return &[] };
            let to = recover(from, if name.len() > 2 { digits(behind).0 } else { rest });
            let kind = if name.len() > 2 { SyntaxFaultKind::UnknownName } else { SyntaxFaultKind::BadLineNumber };
            return self.fault(kind, from, to, block);
        }
        let first = block.is_empty() && block.n.is_none();
        if !first || self.strict && !block.comments.is_empty() {
            return self.fault(SyntaxFaultKind::LineNumberNotFirst, from, rest, block);
        }
        if self.strict && count > 5 {
            self.fault(SyntaxFaultKind::LineNumberTooLong, from, rest, block);
        }
        block.n = Some(self.span(from, rest));
        rest
    }

    /// Whether an O or a colon here names the program.
    pub fn opens_program(&self, block: &Block) -> bool {
        !self.strict && block.program.is_none() && block.is_empty()
    }

    /// O or a colon and the program number, or a statement that begins like one.
    pub fn program_number(&self, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        let (rest, count, number) = digits(after);
        if statement::is_o_word(rest) {
            return self.control(ControlKind::OWord, from, block);
        }
        let kind = match (count, number) {
            (0, _) => SyntaxFaultKind::MissingValue,
            (_, u32::MAX) => SyntaxFaultKind::NumberTooLarge,
            _ if symbol(b".")(rest).is_ok() => SyntaxFaultKind::BadNumber,
            _ => {
                block.program = Some((self.span(from, rest), number));
                return rest;
            }
        };
        self.fault(kind, from, recover(after, rest), block)
    }

    /// The mark that opens and closes a program; text behind it has no meaning.
    pub fn percent(&self, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        let goes_on = matches!(skip_blanks(after), [] | [b'(' | b';' | b':' | b'O' | b'o', ..]);
        let to = if goes_on { after } else { &[] };
        block.percent = Some(self.span(from, to));
        if self.strict && !skip_blanks(after).is_empty() {
            return self.fault(SyntaxFaultKind::BadCharacter, after, &[], block);
        }
        to
    }

    /// Block delete with its level; in mid-line it may cut the rest of the block off.
    pub fn slash(&self, from: &'l [u8], after: &'l [u8], block: &mut Block) -> &'l [u8] {
        let first = block.is_empty() && block.delete.is_none() && block.program.is_none();
        if !first || self.strict && !nothing_read(block) {
            return self.fault(SyntaxFaultKind::SkipRest, from, &[], block);
        }
        let (level, rest) = match after {
            [digit @ b'1'..=b'9', rest @ ..] if !self.strict => (digit - b'0', rest),
            _ => (0, after),
        };
        block.delete = Some((self.span(from, rest), level));
        rest
    }
}

/// Whether no item of the line has been read yet.
pub(super) fn nothing_read(block: &Block) -> bool {
    block.is_empty()
        && block.n.is_none()
        && block.program.is_none()
        && block.percent.is_none()
        && block.delete.is_none()
        && block.comments.is_empty()
        && block.faults.is_empty()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::Span;

    fn read(text: &str, strict: bool) -> Block {
        let mut block = Block::default();
        Line { text: text.as_bytes(), wide: text.as_bytes(), base: 0, strict }.read(0, &mut block);
        block
    }

    fn faults(text: &str, strict: bool) -> Vec<(SyntaxFaultKind, &[u8])> {
        read(text, strict).faults.iter().map(|fault| (fault.kind, fault.span.of(text.as_bytes()))).collect()
    }

    #[test]
    fn program_names_come_in_every_form() {
        let named = |text| read(text, false).program.map(|(_, number)| number);
        assert_eq!(named("O1234 (NAME)"), Some(1234));
        assert_eq!(named("%O0004"), Some(4));
        assert_eq!(named(":77"), Some(77));
        assert_eq!(named("N10 o20"), Some(20));
        assert_eq!(read("O<name> call [1]", false).control.unwrap().kind, ControlKind::OWord);
        assert_eq!(read("o100 sub", false).control.unwrap().kind, ControlKind::OWord);
        assert_eq!(faults("G1 :5", false), [(SyntaxFaultKind::BadCharacter, &b":5"[..])]);
        assert_eq!(faults("O99999999999", false), [(SyntaxFaultKind::NumberTooLarge, &b"O99999999999"[..])]);
    }

    #[test]
    fn a_percent_line_may_carry_text() {
        assert_eq!(read("%", true).percent, Some(Span::new(0, 1)));
        assert_eq!(read("% tail of tape", false).percent, Some(Span::new(0, 14)));
        assert_eq!(faults("G1 % X2", false), [(SyntaxFaultKind::BadCharacter, &b"%"[..])]);
    }

    #[test]
    fn block_delete_leads_its_block() {
        assert_eq!(read("/2 G1", false).delete, Some((Span::new(0, 2), 2)));
        assert_eq!(read("N1/G1", false).delete, Some((Span::new(2, 3), 0)));
        assert_eq!(faults("G1 X5 /Y6 ", false), [(SyntaxFaultKind::SkipRest, &b"/Y6"[..])]);
        assert_eq!(read("G1 X5 /Y6", false).words.len(), 2);
        assert_eq!(faults("/2 G1", true), [(SyntaxFaultKind::BadCharacter, &b"2"[..])]);
    }

    #[test]
    fn line_numbers_have_any_length_but_in_strict() {
        assert_eq!(read("N100000G1", false).n, Some(Span::new(0, 7)));
        assert_eq!(faults("N123456 G0", true), [(SyntaxFaultKind::LineNumberTooLong, &b"N123456"[..])]);
        assert_eq!(faults("N1.5 G0", false), [(SyntaxFaultKind::BadLineNumber, &b"N1.5"[..])]);
        assert_eq!(faults("G0 N5", false), [(SyntaxFaultKind::LineNumberNotFirst, &b"N5"[..])]);
    }
}
