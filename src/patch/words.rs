//! Remedies that name their own text: words replaced where a finding points, or a line before them.

use super::block_edit::{BlockEdit, Line, Text, number};
use super::cycles::code_number;
use super::edit::Edit;
use super::style::Rounding;
use crate::diagnostic::Remedy;
use crate::source::Span;
use crate::syntax::Word;

/// The edits of a text remedy at one place; `None` for a remedy that shapes holes.
///
/// # Errors
/// With the reason, when the block cannot be changed.
pub fn rewrite(remedy: &Remedy, place: Span, text: &Text<'_>) -> Option<Result<Vec<Edit>, String>> {
    let start = text.line_start(place.start);
    let edited = |change: &dyn Fn(&mut BlockEdit<'_, '_>)| {
        let mut edit = BlockEdit::open(text, start)?;
        change(&mut edit);
        edit.finish()
    };
    Some(match remedy {
        Remedy::Replace(new) => edited(&|edit| replace(edit, place, &in_style(new, text), text)),
        Remedy::LineBefore(new) => match exact_stop_before(start, text).filter(|_| new == "G64") {
            Some((block, word)) => BlockEdit::open(text, block).and_then(|mut edit| {
                edit.replace(word, text.style.join(&in_style(new, text)));
                edit.finish()
            }),
            None => edited(&|edit| edit.line_before(in_style(new, text))),
        },
        Remedy::RetractTo(height) => {
            let z = text.style.word(b'Z', height.0 / text.units.mm(), Rounding::Up);
            edited(&|edit| edit.line_before(vec![text.style.code(b'G', 0), z.clone()]))
        }
        Remedy::Turn { from, to } => edited(&|edit| turn(edit, place, (from.0, to.0), text)),
        Remedy::NoDwell => edited(&|edit| remove_dwell(edit)),
        Remedy::Feed(_)
        | Remedy::SlowExit { .. }
        | Remedy::SlowEntry { .. }
        | Remedy::Stages(_)
        | Remedy::Approach(_)
        | Remedy::Depth(_)
        | Remedy::RampIn { .. }
        | Remedy::OtherSide
        | Remedy::CompensateSooner
        | Remedy::OneStroke
        | Remedy::Peck(_)
        | Remedy::FeedOut => return None,
    })
}

/// Whether a remedy writes lengths or feeds, which mean nothing while the program's units are in doubt.
pub(super) fn brings_numbers(remedy: &Remedy) -> bool {
    match remedy {
        Remedy::Feed(_)
        | Remedy::SlowExit { .. }
        | Remedy::SlowEntry { .. }
        | Remedy::Stages(_)
        | Remedy::Approach(_)
        | Remedy::Depth(_)
        | Remedy::Peck(_)
        | Remedy::RetractTo(_)
        | Remedy::RampIn { .. } => true,
        Remedy::OneStroke | Remedy::NoDwell | Remedy::FeedOut => false,
        Remedy::OtherSide | Remedy::CompensateSooner => false,
        Remedy::Turn { .. } | Remedy::Replace(_) | Remedy::LineBefore(_) => false,
    }
}

/// Whether a remedy changes blocks that make no hole.
pub(super) fn is_blockwise(remedy: &Remedy) -> bool {
    match remedy {
        Remedy::NoDwell | Remedy::RetractTo(_) | Remedy::Depth(_) | Remedy::Feed(_) => true,
        Remedy::RampIn { .. } | Remedy::OtherSide | Remedy::CompensateSooner => true,
        _ => is_worded(remedy),
    }
}

/// Whether a remedy changes words where they stand.
pub(super) fn is_worded(remedy: &Remedy) -> bool {
    matches!(remedy, Remedy::Turn { .. } | Remedy::Replace(_) | Remedy::LineBefore(_))
}

/// A remedy with heights in the air rounded up to the program's digits.
pub(super) fn in_digits(remedy: &Remedy, text: Option<&Text<'_>>) -> Remedy {
    match (remedy, text) {
        (Remedy::RetractTo(height), Some(text)) => Remedy::RetractTo(text.air(*height)),
        (remedy, _) => remedy.clone(),
    }
}

/// The word that switches exact stop on in the block at byte `start`, or alone in the block before it, with its block:
/// G64 belongs in its place, for no move runs between the two.
fn exact_stop_before(start: u32, text: &Text<'_>) -> Option<(u32, Span)> {
    let stops = |word: &&Word| word.letter == b'G' && number(word).is_some_and(|code| code == 61.0 || code == 61.1);
    let own = text.block(start)?;
    if let Some(word) = own.words.iter().find(stops) {
        return Some((start, word.span));
    }
    let before = text.block_before(start)?;
    let alone = before.words.first().filter(|_| before.words.len() == 1).filter(stops)?;
    Some((before.span.start, alone.span))
}

/// Words of a remedy in the program's case.
fn in_style(words: &str, text: &Text<'_>) -> Line {
    let case = |word: &str| if text.style.lower { word.to_ascii_lowercase() } else { word.to_owned() };
    words.split_ascii_whitespace().map(case).collect()
}

fn covered(edit: &BlockEdit<'_, '_>, place: Span) -> Vec<Span> {
    let inside = |span: &Span| span.start < place.end && place.start < span.end;
    edit.block.words.iter().map(|word| word.span).filter(inside).collect()
}

/// Puts `new` in place of the words at `place`. A finding may point at the code that a number belongs to, as G43 for
/// its H; so one word that is no code takes the place of the block's word with its letter.
fn replace(edit: &mut BlockEdit<'_, '_>, place: Span, new: &Line, text: &Text<'_>) {
    let letter = match new.as_slice() {
        [word] => word.bytes().next().map(|letter| letter.to_ascii_uppercase()),
        _ => None,
    };
    let own = letter.filter(|letter| !matches!(letter, b'G' | b'M')).and_then(|letter| edit.block.word(letter));
    let words = own.map_or_else(|| covered(edit, place), |word| vec![word.span]);
    match words.split_first() {
        Some((first, others)) => {
            edit.replace(*first, text.style.join(new));
            others.iter().for_each(|word| edit.remove(*word));
        }
        None => new.iter().cloned().for_each(|word| edit.put_last(word)),
    }
}

/// The S word at `place` says the new speed, an F word there feeds as much more as the spindle turns faster.
fn turn(edit: &mut BlockEdit<'_, '_>, place: Span, (from, to): (f64, f64), text: &Text<'_>) {
    let Some(word) = edit.block.words.iter().find(|word| word.span == place) else { return };
    let value = match word.letter {
        b'S' => Some(to),
        _ => number(word).map(|value| value * to / from),
    };
    if let Some(value) = value {
        let new = text.style.word(word.letter, value, Rounding::Nearest);
        edit.replace(place, new);
    }
}

/// Takes G4 and its time out; the cycles' own dwell is left to the hole it belongs to.
pub(super) fn remove_dwell(edit: &mut BlockEdit<'_, '_>) {
    let words = edit.block.words.clone();
    if words.iter().any(|word| word.letter == b'G' && code_number(word) == Some(4)) {
        let dwell = words.iter().filter(|word| match word.letter {
            b'G' => code_number(word) == Some(4),
            letter => matches!(letter, b'P' | b'X' | b'U'),
        });
        dwell.for_each(|word| edit.remove(word.span));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::patch::edit::Edits;
    use crate::patch::numbering::Numbering;
    use crate::patch::style::Style;
    use crate::units::UnitSystem;

    fn patched(program: &str, remedy: Remedy, at: &str) -> String {
        let bytes = program.as_bytes();
        let style = Style::learn(bytes, true, None);
        let text = Text { bytes, units: UnitSystem::Metric, style, numbering: Numbering::learn(bytes) };
        let start = u32::try_from(program.find(at).unwrap()).unwrap();
        let place = Span::new(start, start + u32::try_from(at.len()).unwrap());
        let edits = rewrite(&remedy, place, &text).unwrap().unwrap();
        String::from_utf8(Edits::new(edits, bytes.len()).unwrap().apply(bytes)).unwrap()
    }

    #[test]
    fn text_remedies_keep_to_the_words_they_name() {
        let program = "N10 G0 G43 H12 Z5.\nN20 G4 P250\nN30 S900 M3\n";
        let replaced = patched(program, Remedy::Replace("H11".to_owned()), "H12");
        assert_eq!(replaced, program.replace("H12", "H11"));
        let by_code = patched(program, Remedy::Replace("H11".to_owned()), "G43");
        assert_eq!(by_code, replaced);
        let before = patched(program, Remedy::LineBefore("M51".to_owned()), "G4 P");
        assert_eq!(before, program.replace("N20", "N11 M51\nN20"));
        let rested = patched(program, Remedy::NoDwell, "G4 P");
        assert_eq!(rested, program.replace("N20 G4 P250", "N20"));
    }

    #[test]
    fn an_exact_stop_right_before_the_moves_gives_its_place_to_g64() {
        let cancel = || Remedy::LineBefore("G64".to_owned());
        let alone = "N10 G61 (FIT)\nN20 G1 X2.\n";
        assert_eq!(patched(alone, cancel(), "G1 X"), alone.replace("G61", "G64"));
        let same = "G1 G61 X2.\n";
        assert_eq!(patched(same, cancel(), "X2"), "G1 G64 X2.\n");
        let with_move = "N10 G61.1 X1.\nN20 G1 X2.\n";
        assert_eq!(patched(with_move, cancel(), "G1 X"), with_move.replace("N20", "N11 G64\nN20"));
    }

    #[test]
    fn a_tight_lower_case_program_stays_so() {
        let replaced = patched("g0x1y2z3\n", Remedy::Replace("Z20 M8".to_owned()), "z3");
        assert_eq!(replaced, "g0x1y2z20m8\n");
    }
}
