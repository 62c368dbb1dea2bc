//! Words of macro dialects that open a statement the reader recognises but does not follow.

use super::ControlKind;
use super::text::{letters, skip_blanks};

/// Control words that stand by themselves.
const KEYWORDS: [(&[u8], ControlKind); 13] = [
    (b"IF", ControlKind::If),
    (b"THEN", ControlKind::If),
    (b"ELSE", ControlKind::If),
    (b"ELSEIF", ControlKind::If),
    (b"ENDIF", ControlKind::If),
    (b"WHILE", ControlKind::While),
    (b"WH", ControlKind::While),
    (b"DO", ControlKind::While),
    (b"END", ControlKind::End),
    (b"ENDW", ControlKind::End),
    (b"ENDWHILE", ControlKind::End),
    (b"GOTO", ControlKind::Goto),
    (b"GOTON", ControlKind::Goto),
];

/// What may follow an O word that is no program number.
const O_WORDS: [&[u8]; 15] = [
    b"SUB",
    b"ENDSUB",
    b"CALL",
    b"RETURN",
    b"IF",
    b"ELSEIF",
    b"ELSE",
    b"ENDIF",
    b"WHILE",
    b"ENDWHILE",
    b"DO",
    b"REPEAT",
    b"ENDREPEAT",
    b"BREAK",
    b"CONTINUE",
];

/// The kind of statement that the letters at the start of `text` open.
pub(super) fn keyword(text: &[u8]) -> Option<ControlKind> {
    let (_, name) = letters(text).ok()?;
    KEYWORDS.iter().find(|(word, _)| name.eq_ignore_ascii_case(word)).map(|(_, kind)| *kind)
}

/// Whether the text behind an O and its digits makes it a statement: a name in `< >`, or a control word.
pub(super) fn is_o_word(text: &[u8]) -> bool {
    let text = skip_blanks(text);
    if text.first() == Some(&b'<') {
        return true;
    }
    letters(text).is_ok_and(|(_, name)| O_WORDS.iter().any(|word| name.eq_ignore_ascii_case(word)))
}
