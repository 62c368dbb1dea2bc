//! Canned-cycle holes rewritten: words changed in place, or the hole written out, and the cycle stated again behind it.
//!
//! A series is walked in the order it runs, with the cycle data the new text has stated so far. A block gets the words
//! that its hole needs and the text before it no longer says, and nothing else; so a block behind a hole written out
//! states its cycle in full, and a block whose cycle data are still in force stays as it is.

use super::block_edit::{BlockEdit, Line, Text, number};
use super::edit::Edit;
use super::long_hand;
use super::scene::{Series, Snapshot, Visit};
use super::shared::Shared;
use super::style::Rounding;
use super::wish::Wish;
use crate::motion::{Action, Code, CycleCall, CycleCode, Distance, MotionMode, ReturnLevel};
use crate::source::Span;
use crate::syntax::{Block, Word};
use std::collections::BTreeMap;

/// What a cycle block states, program mm; the feed in program units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stated {
    /// Code; `None` when no cycle is active.
    pub code: Option<CycleCode>,
    /// G98 or G99, when the new text has said it.
    pub level: Option<ReturnLevel>,
    /// Bottom.
    pub z: f64,
    /// R plane.
    pub r: f64,
    /// Peck increment.
    pub q: Option<f64>,
    /// Dwell, as the state machine gives it.
    pub dwell: Option<f64>,
    /// F in force.
    pub feed: Option<f64>,
}

/// A walk over one series.
pub(super) struct Walk<'t, 'a> {
    /// The text.
    pub text: &'t Text<'a>,
    /// Strokes that may be shared between holes.
    pub shared: Option<&'t Shared>,
    /// What the new text has stated.
    pub carry: Stated,
    /// What the old text had stated at the same place.
    before: Stated,
    /// Digits already typed for a letter's value, to be typed again.
    typed: BTreeMap<u8, (f64, String)>,
    /// Whether G98 or G99 of a block written out must stay.
    pub keep_level: bool,
}

/// The edits that give every hole of a series what is wished of it.
///
/// # Errors
/// With the reason, when the series cannot be rewritten.
pub fn rewrite(
    series: &Series,
    wish_of: &dyn Fn(&Visit) -> Wish,
    text: &Text<'_>,
    shared: Option<&Shared>,
) -> Result<Vec<Edit>, String> {
    let making = series.visits.iter().find_map(|visit| visit.calls.first().map(|call| (visit.block, call)));
    let Some((first_block, (first, state))) = making else { return Ok(Vec::new()) };
    let mut making = series.visits.iter().filter(|visit| !visit.calls.is_empty());
    if making.any(|visit| visit.block.source != first_block.source) {
        return Err("the holes of one cycle are made in different programs".to_owned());
    }
    let carry = Stated { code: None, ..stated(first, state) };
    let mut walk = Walk { text, shared, carry, before: carry, typed: BTreeMap::new(), keep_level: series.after.level };
    let mut edits: Vec<Edit> = Vec::new();
    let mut rest = series.visits.as_slice();
    while let Some((visit, later)) = rest.split_first() {
        rest = later;
        let Some((call, state)) = visit.calls.first() else {
            if visit.block.source == first_block.source {
                walk.pass(visit, later);
            } else {
                walk.forget();
            }
            continue;
        };
        let wish = wish_of(visit);
        let restore = state.feed_word.filter(|_| series.after.feed && later.iter().all(|visit| visit.calls.is_empty()));
        walk.remember(visit, call, state);
        edits.extend(walk.hole(visit, &wish, restore)?);
        walk.before = stated(call, state);
    }
    Ok(edits)
}

fn stated(call: &CycleCall, state: &Snapshot) -> Stated {
    Stated {
        code: Some(call.code),
        level: Some(state.level),
        z: call.bottom,
        r: call.r,
        q: call.q,
        dwell: call.dwell.map(|dwell| dwell.unwrap_or_else(|typed| typed)),
        feed: state.feed_word,
    }
}

/// The cycle that does what `code` does and what the wish adds or leaves out.
fn recode(code: CycleCode, dwells: bool, wish: &Wish) -> Result<CycleCode, String> {
    use CycleCode::{G73, G81, G82, G83, G85, G89};
    if !code.drills() && *wish != Wish::default() && *wish != (Wish { feed: wish.feed, ..Wish::default() }) {
        return Err(format!("{} is not a drilling cycle", code.name()));
    }
    let mut code = code;
    if wish.one_stroke && code.pecks() {
        code = if dwells && !wish.no_dwell { G82 } else { G81 };
    }
    if wish.no_dwell {
        code = match code {
            G82 => G81,
            G89 => G85,
            other => other,
        };
    }
    if wish.peck.is_some() {
        code = match code {
            G81 | G73 | G83 => G83,
            other => return Err(format!("{} cannot peck", other.name())),
        };
    }
    if wish.feed_out {
        code = match code {
            G81 | G85 => G85,
            G82 | G89 => G89,
            other => return Err(format!("{} cannot leave the hole at feed", other.name())),
        };
    }
    Ok(code)
}

impl<'t, 'a> Walk<'t, 'a> {
    /// A block that makes no hole: it may end the cycle, or state data for the next one.
    fn pass(&mut self, visit: &Visit, later: &[Visit]) {
        let Some(block) = self.text.block(visit.block.span.start) else { return };
        let states_cycle = block.words.iter().any(is_cycle_code);
        let next = if states_cycle { later.iter().find_map(|visit| visit.calls.first()) } else { None };
        if let Some((call, state)) = next {
            self.remember(visit, call, state);
        }
        for carry in [&mut self.carry, &mut self.before] {
            for word in &block.words {
                match (word.letter, code_number(word)) {
                    (b'F', _) => carry.feed = number(word),
                    (b'G', Some(0..=3 | 80)) => carry.code = None,
                    (b'G', Some(98)) => carry.level = Some(ReturnLevel::Initial),
                    (b'G', Some(99)) => carry.level = Some(ReturnLevel::RPlane),
                    _ => {}
                }
            }
            if let Some((call, state)) = next {
                *carry = Stated { feed: carry.feed, level: carry.level, ..stated(call, state) };
            }
        }
    }

    /// A block of another program: what it states is not looked up, so a changed block states its cycle in full.
    fn forget(&mut self) {
        for carry in [&mut self.carry, &mut self.before] {
            carry.code = None;
            carry.feed = None;
        }
    }

    /// Keeps the digits the program types for a block's words.
    fn remember(&mut self, visit: &Visit, call: &CycleCall, state: &Snapshot) {
        let Some(block) = self.text.block(visit.block.span.start) else { return };
        for word in &block.words {
            let value = match word.letter {
                b'Z' => Some(depth_word(state, call.r, call.bottom)),
                b'R' => plane_word(call, state, call.r),
                b'Q' => call.q.map(|q| q / state.units.mm()),
                b'F' => number(word),
                b'P' => call.dwell.map(|dwell| dwell.unwrap_or_else(|typed| typed)),
                _ => None,
            };
            if let Some(value) = value {
                self.typed.insert(word.letter, (value, self.text.typed(word.span)));
            }
        }
    }

    /// A word with that value: as already typed, or in the program's style.
    pub fn say(&self, letter: u8, value: f64) -> String {
        match self.typed.get(&letter) {
            Some((typed, text)) if close(*typed, value) => text.clone(),
            _ => self.text.style.word(letter, value, Rounding::Nearest),
        }
    }

    /// A feed in mm/min as this program will say it; the old digits where it stays, rounded away from the old side where not.
    ///
    /// # Errors
    /// Under G93, and under G95 without a speed.
    pub fn feed(&self, state: &Snapshot, wanted: f64, old: Option<f64>) -> Result<f64, String> {
        if let (Some(old), Some(typed)) = (old, state.feed_word)
            && close(wanted, old)
        {
            return Ok(typed);
        }
        feed_word(self.text, state, wanted, old)
    }

    /// The block of one hole, or of several made by one repeated block.
    fn hole(&mut self, visit: &Visit, wish: &Wish, restore: Option<f64>) -> Result<Vec<Edit>, String> {
        let Some((call, state)) = visit.calls.first() else { return Ok(Vec::new()) };
        let new = self.wanted(call, state, wish)?;
        if *wish != Wish::default() && new.dwell.is_some() && !self.typed.contains_key(&b'P') {
            return Err("the dwell of its cycle is stated elsewhere".to_owned());
        }
        let untouched = self.carry == self.before && new == stated(call, state) && *wish == Wish::default();
        if untouched && restore_not_needed(&new, restore) {
            self.carry = new;
            return Ok(Vec::new());
        }
        let rise = self.rise(call, state, wish);
        if rise.is_some() {
            self.carry.code = None;
        }
        if wish.needs_long_hand() {
            return long_hand::cycle_hole(self, visit, wish, &new, (rise, restore));
        }
        let Some(block) = self.text.block(visit.block.span.start) else { return Ok(Vec::new()) };
        let changes = self.changes(&block, call, state, &new);
        self.carry = new;
        let restored = restore.filter(|_| !restore_not_needed(&new, restore));
        if changes.is_empty() && rise.is_none() && restored.is_none() {
            return Ok(Vec::new());
        }
        let mut edit = BlockEdit::open(self.text, visit.block.span.start)?;
        for change in changes {
            match change {
                Change::Replace(word, new) => edit.replace(word, new),
                Change::Remove(word) => edit.remove(word),
                Change::First(word) => edit.put_first(word),
                Change::Last(word) => edit.put_last(word),
            }
        }
        rise.into_iter().for_each(|line| edit.line_before(line));
        restored.into_iter().for_each(|feed| edit.line_after(vec![self.say(b'F', feed)]));
        edit.finish()
    }

    /// The line that rises before the hole is approached; it ends the cycle, which the block then states again.
    fn rise(&self, call: &CycleCall, state: &Snapshot, wish: &Wish) -> Option<Line> {
        let z = *call.from.xyz.get(2)?;
        let height = wish.rise_before.filter(|height| *height > z)?;
        let from = if state.distance == Distance::Incremental { z } else { 0.0 };
        let word = self.text.style.word(b'Z', (height - from) / state.units.mm(), Rounding::Up);
        Some(vec![self.text.style.code(b'G', 0), word])
    }

    /// The cycle data that fulfil the wish.
    fn wanted(&self, call: &CycleCall, state: &Snapshot, wish: &Wish) -> Result<Stated, String> {
        let old = stated(call, state);
        let code = recode(call.code, call.dwell.is_some(), wish)?;
        let bottom = wish.bottom(call.bottom);
        let units = state.units.mm();
        let plane = wish.plane(call.r);
        let r = match close(plane, call.r) {
            true => call.r,
            false => self.text.style.as_written(b'R', plane / units, Rounding::Up) * units,
        };
        let z = match close(bottom, call.bottom) {
            true => call.bottom,
            false => self.text.style.as_written(b'Z', bottom / units, Rounding::Down) * units,
        };
        let q = match code {
            code if code.pecks() => wish.peck.or(call.q),
            code if code == call.code => call.q,
            _ => None,
        };
        let feed = wish.feed.map_or(Ok(old.feed), |feed| self.feed(state, feed, call.feed).map(Some))?;
        Ok(Stated { code: Some(code), z, r, q, dwell: old.dwell.filter(|_| !wish.no_dwell), feed, ..old })
    }

    /// The words a block must change so that its hole is made as `new`, given what the text before it has stated.
    fn changes(&self, block: &Block, call: &CycleCall, state: &Snapshot, new: &Stated) -> Vec<Change> {
        let mut changes = Vec::new();
        let old = stated(call, state);
        let style = &self.text.style;
        let level = if state.level == ReturnLevel::RPlane { 99 } else { 98 };
        let has_level = block.words.iter().any(is_level);
        let own_code = block.words.iter().find(|word| is_cycle_code(word));
        let restated = self.carry.code != new.code;
        if !has_level && (self.carry.level != Some(state.level) || (restated && own_code.is_none())) {
            changes.push(Change::First(style.code(b'G', level)));
        }
        let code = new.code.map(|code| style.cased(code.name()));
        match (own_code, code) {
            (Some(word), Some(code)) if new.code != old.code => changes.push(Change::Replace(word.span, code)),
            (None, Some(code)) if restated => changes.push(Change::First(code)),
            _ => {}
        }
        let depth = |stated: &Stated| Some(depth_word(state, stated.r, stated.z));
        let plane = |r: f64| plane_word(call, state, r);
        let kept = state.distance == Distance::Incremental && close(new.r, old.r);
        let carried = if kept { new.r } else { self.carry.r };
        let length = |mm: Option<f64>| mm.map(|mm| mm / state.units.mm());
        let rows = [
            (b'Z', [depth(&old), depth(new), depth(&self.carry)]),
            (b'R', [plane(old.r), plane(new.r), plane(carried)]),
            (b'Q', [length(old.q), length(new.q), length(self.carry.q)]),
            (b'P', [old.dwell, new.dwell, self.carry.dwell]),
        ];
        changes.extend(rows.into_iter().filter_map(|(letter, values)| self.change(block, letter, values, restated)));
        changes.extend(self.change(block, b'F', [old.feed, new.feed, self.carry.feed], false));
        changes
    }

    fn change(&self, block: &Block, letter: u8, values: [Option<f64>; 3], restated: bool) -> Option<Change> {
        let [old, new, carried] = values;
        let same = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => close(a, b),
            (a, b) => a.is_none() && b.is_none(),
        };
        match (block.word(letter), new) {
            (Some(word), Some(value)) if !same(old, new) => Some(Change::Replace(word.span, self.say(letter, value))),
            (Some(word), None) if old.is_some() => Some(Change::Remove(word.span)),
            (None, Some(value)) if restated || !same(carried, new) => Some(Change::Last(self.say(letter, value))),
            _ => None,
        }
    }
}

/// One word of a block changed.
enum Change {
    Replace(Span, String),
    Remove(Span),
    First(String),
    Last(String),
}

/// The Z word for `bottom`, in program units: a position, or under G91 the step from R.
fn depth_word(state: &Snapshot, r: f64, bottom: f64) -> f64 {
    let from = if state.distance == Distance::Incremental { r } else { 0.0 };
    (bottom - from) / state.units.mm()
}

/// The R word for `r`, in program units: a position, or under G91 the step from where the tool stands.
fn plane_word(call: &CycleCall, state: &Snapshot, r: f64) -> Option<f64> {
    let from = if state.distance == Distance::Incremental { *call.from.xyz.get(2)? } else { 0.0 };
    Some((r - from) / state.units.mm())
}

/// A feed in mm/min in the program's own unit and decimals, rounded away from the side of the old feed.
///
/// # Errors
/// Under G93, and under G95 without a speed.
pub(super) fn feed_word(text: &Text<'_>, state: &Snapshot, wanted: f64, old: Option<f64>) -> Result<f64, String> {
    let value = state.feed_in_program(wanted).ok_or("the feed mode or the spindle speed is not known here")?;
    let rounding = if old.is_some_and(|old| wanted > old) { Rounding::Up } else { Rounding::Down };
    Ok(text.style.as_written(b'F', value, rounding))
}

/// Whether the blocks behind the series find the F they rely on.
fn restore_not_needed(new: &Stated, restore: Option<f64>) -> bool {
    restore.is_none_or(|old| new.feed.is_some_and(|feed| close(feed, old)))
}

/// Equal but for float noise.
pub(super) fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6
}

/// The number of a G or M word without decimals.
pub(super) fn code_number(word: &Word) -> Option<u8> {
    let value = number(word)?;
    (0_u8..=199).find(|code| f64::from(*code) == value)
}

/// Whether a word is G98 or G99.
pub(super) fn is_level(word: &Word) -> bool {
    word.letter == b'G' && matches!(code_number(word), Some(98 | 99))
}

/// Whether a word names a canned cycle.
pub(super) fn is_cycle_code(word: &Word) -> bool {
    let row = number(word).filter(|_| word.letter == b'G').and_then(|value| Code::find(b'G', value, u8::MAX));
    row.is_some_and(|row| matches!(row.action, Action::Motion(MotionMode::Cycle(_))))
}
