//! Holes stroke by stroke: a canned cycle written out, and strokes that already stand in the text changed.

use super::block_edit::{BlockEdit, Line, Text};
use super::cycles::{Stated, Walk, close, code_number, feed_word, is_cycle_code, is_level};
use super::edit::Edit;
use super::scene::{LongHand, LongStep, Snapshot, Visit};
use super::style::Rounding;
use super::wish::Wish;
use crate::motion::{CycleAction, CycleCall, CycleMove, CyclePart, Distance, Plane, StepKind, expand};
use crate::syntax::Word;

/// A canned-cycle block written out: positioning, approach, strokes with the feeds wished for, and out of the hole to
/// where the cycle would have left the tool.
///
/// # Errors
/// With the reason, when the cycle does more than drill.
pub(super) fn cycle_hole(
    walk: &mut Walk<'_, '_>,
    visit: &Visit,
    wish: &Wish,
    new: &Stated,
    (rise, restore): (Option<Line>, Option<f64>),
) -> Result<Vec<Edit>, String> {
    let Some((first, state)) = visit.calls.first() else { return Ok(Vec::new()) };
    let code = new.code.filter(|code| code.drills());
    let code = code.ok_or_else(|| format!("{} cannot be written out move by move", first.code.name()))?;
    if state.plane != Plane::Xy {
        return Err("only holes along Z are written out move by move".to_owned());
    }
    if visit.calls.len() > 1 && state.distance == Distance::Absolute {
        return Err("the block makes the same hole more than once".to_owned());
    }
    let mut edit = BlockEdit::open(walk.text, visit.block.span.start)?;
    let positions: Line = words_of(walk.text, &edit, |word| matches!(word.letter, b'X' | b'Y'));
    let wish = written(wish, walk.text, state);
    let z = first.from.xyz.get(2).copied().unwrap_or(first.r);
    let z = wish.rise_before.filter(|_| rise.is_some()).unwrap_or(z);
    rise.into_iter().for_each(|line| edit.line_before(line));
    let mut strokes = Strokes { walk, state, z, feed: None, lines: Vec::new() };
    for (index, (call, _)) in visit.calls.iter().enumerate() {
        let peck_clear = call.peck_clear.max(new.r);
        let call =
            CycleCall { code, bottom: new.z, r: new.r, q: new.q, clear: call.clear.max(new.r), peck_clear, ..*call };
        strokes.call(&call, &wish, (index > 0).then_some(&positions))?;
    }
    let Strokes { lines, feed, .. } = strokes;
    let mut lines = share(walk, state, lines);
    if let (Some(old), Some(line)) = (restore, lines.last_mut())
        && feed.is_none_or(|feed| !close(feed, old))
    {
        line.push(walk.say(b'F', old));
    }
    walk.carry = Stated { code: None, feed: restore.or(feed), ..*new };
    take_out_cycle(walk, &mut edit);
    let rises = z < first.over.get(2).copied().unwrap_or(z);
    place_first(walk.text, &mut edit, &positions, lines, rises);
    edit.finish()
}

/// Puts a call in place of the strokes from the first feed on, where other holes make the same ones.
fn share(walk: &Walk<'_, '_>, state: &Snapshot, mut lines: Vec<Line>) -> Vec<Line> {
    let Some(shared) = walk.shared.filter(|_| state.distance == Distance::Absolute) else { return lines };
    let feed = walk.text.style.code(b'G', 1);
    let Some(first) = lines.iter().position(|line| line.first() == Some(&feed)) else { return lines };
    let strokes = lines.split_off(first);
    match shared.number_of(&strokes) {
        Some(number) => lines.push(vec![walk.text.style.code(b'M', 98), walk.text.style.count(b'P', number)]),
        None => lines.extend(strokes),
    }
    lines
}

/// Takes the cycle's words out of its block; G98 or G99 too, unless a later cycle relies on it.
fn take_out_cycle(walk: &mut Walk<'_, '_>, edit: &mut BlockEdit<'_, '_>) {
    for word in edit.block.words.clone() {
        let level = is_level(&word);
        let cycle = is_cycle_code(&word) || matches!(word.letter, b'Z' | b'R' | b'Q' | b'P' | b'F' | b'L' | b'K');
        if cycle || (level && !walk.keep_level) {
            edit.remove(word.span);
        }
        if level && !walk.keep_level {
            walk.carry.level = None;
        }
    }
}

/// Makes the block itself the first line: the positioning, or the first stroke when the block has no position or must
/// rise before it moves sideways.
fn place_first(text: &Text<'_>, edit: &mut BlockEdit<'_, '_>, positions: &Line, mut lines: Vec<Line>, rises: bool) {
    let rapid = text.style.code(b'G', 0);
    if positions.is_empty() || rises {
        let first = if lines.is_empty() { vec![rapid.clone()] } else { lines.remove(0) };
        first.into_iter().for_each(|word| edit.put_first(word));
    } else {
        edit.put_first(rapid.clone());
    }
    if rises && !positions.is_empty() {
        let words = edit.block.words.clone();
        words.iter().filter(|word| matches!(word.letter, b'X' | b'Y')).for_each(|word| edit.remove(word.span));
        edit.line_after(std::iter::once(rapid).chain(positions.iter().cloned()).collect());
    }
    lines.into_iter().for_each(|line| edit.line_after(line));
}

fn words_of(text: &Text<'_>, edit: &BlockEdit<'_, '_>, which: impl Fn(&Word) -> bool) -> Line {
    edit.block.words.iter().filter(|word| which(word)).map(|word| text.typed(word.span)).collect()
}

/// The wish with its heights cut to the decimals the program writes, each to its safe side.
fn written(wish: &Wish, text: &Text<'_>, state: &Snapshot) -> Wish {
    let mm = state.units.mm();
    let cut = |height: f64, rounding| text.style.as_written(b'Z', height / mm, rounding) * mm;
    let mut wish = *wish;
    if let Some(exit) = &mut wish.slow_exit {
        exit.from = cut(exit.from, Rounding::Up);
        exit.to = cut(exit.to, Rounding::Down);
    }
    if let Some(entry) = &mut wish.slow_entry {
        entry.to = cut(entry.to, Rounding::Down);
    }
    wish.approach = wish.approach.map(|height| cut(height, Rounding::Up));
    wish.retract_to = wish.retract_to.map(|height| cut(height, Rounding::Up));
    wish.rise_before = wish.rise_before.map(|height| cut(height, Rounding::Up));
    wish
}

/// Lines of one hole being written.
struct Strokes<'w, 't, 'a> {
    walk: &'w Walk<'t, 'a>,
    state: &'w Snapshot,
    z: f64,
    feed: Option<f64>,
    lines: Vec<Line>,
}

impl Strokes<'_, '_, '_> {
    fn call(&mut self, call: &CycleCall, wish: &Wish, positions: Option<&Line>) -> Result<(), String> {
        let mut moves = Vec::new();
        expand(call, &mut |step| moves.push(step));
        let feed = call.feed.ok_or("no feed is in force")?;
        if let Some(positions) = positions {
            let rapid = self.walk.text.style.code(b'G', 0);
            self.lines.push(std::iter::once(rapid).chain(positions.iter().cloned()).collect());
        }
        for step in &moves {
            self.step(step, call, wish, feed)?;
        }
        Ok(())
    }

    fn step(&mut self, step: &CycleMove, call: &CycleCall, wish: &Wish, feed: f64) -> Result<(), String> {
        let z = step.to.get(2).copied().unwrap_or(self.z);
        match step.action {
            CycleAction::Rapid if close(z, self.z) && step.part == CyclePart::Position => Ok(()),
            CycleAction::Rapid => self.line(0, z, None, call),
            CycleAction::Line if z < self.z => {
                wish.stages(self.z, z, feed).into_iter().try_for_each(|(z, feed)| self.line(1, z, Some(feed), call))
            }
            CycleAction::Line => self.line(1, z, Some(wish.feed.unwrap_or(feed)), call),
            CycleAction::Dwell(_) => {
                let typed = call.dwell.map(|dwell| dwell.unwrap_or_else(|typed| typed)).unwrap_or_default();
                self.lines.push(vec![self.walk.text.style.code(b'G', 4), self.walk.say(b'P', typed)]);
                Ok(())
            }
            CycleAction::Spindle(_) | CycleAction::Stop => {
                Err(format!("{} cannot be written out move by move", call.code.name()))
            }
        }
    }

    fn line(&mut self, code: u8, z: f64, feed: Option<f64>, call: &CycleCall) -> Result<(), String> {
        let from = if self.state.distance == Distance::Incremental { self.z } else { 0.0 };
        let mut line = vec![
            self.walk.text.style.code(b'G', code),
            self.walk.text.style.word(b'Z', (z - from) / self.state.units.mm(), Rounding::Nearest),
        ];
        if let Some(feed) = feed {
            let feed = self.walk.feed(self.state, feed, call.feed)?;
            if self.feed.is_none_or(|last| !close(last, feed)) {
                line.push(self.walk.say(b'F', feed));
            }
            self.feed = Some(feed);
        }
        self.z = z;
        self.lines.push(line);
        Ok(())
    }
}

/// The edits that give a hole already written move by move what is wished of it.
///
/// # Errors
/// With the reason, when the strokes cannot be changed one by one.
pub fn long_hand_hole(hole: &LongHand, wish: &Wish, text: &Text<'_>) -> Result<Vec<Edit>, String> {
    if wish.one_stroke || wish.peck.is_some() {
        return Err("pecks written move by move are left to the programmer".to_owned());
    }
    let Some(first) = hole.steps.first() else { return Err("the hole's moves were not found".to_owned()) };
    let wish = written(wish, text, &first.state);
    let lowest = hole.steps.iter().map(|step| step.z.1).fold(f64::INFINITY, f64::min);
    let top = hole.steps.iter().find(|step| step.kind == StepKind::Line).map_or(first.z.0, |step| step.z.0);
    let sunk = hole.approach.filter(|sunk| close(sunk.z.1, top)).and_then(|sunk| plain_sink(&sunk, first, text));
    let mut rewriting = Rewriting { text, wish: &wish, lowest, top, feed: first.state.feed_word, shift: 0.0, sunk };
    let mut edits = Vec::new();
    let mut open: Option<BlockEdit<'_, '_>> = None;
    for (index, step) in hole.steps.iter().enumerate() {
        let same_block = open.as_ref().is_some_and(|edit| edit.block.span == step.block.span);
        if !same_block {
            edits.extend(open.take().map_or(Ok(Vec::new()), finish)?);
        }
        let mut edit = open.take().map_or_else(|| BlockEdit::open(text, step.block.span.start), Ok)?;
        rewriting.step(step, &mut edit)?;
        if index + 1 == hole.steps.len() {
            rewriting.leave(hole, step, &mut edit);
        }
        open = Some(edit);
    }
    edits.extend(open.take().map_or(Ok(Vec::new()), finish)?);
    edits.extend(rewriting.sunk.take().map_or(Ok(Vec::new()), finish)?);
    Ok(edits)
}

/// The block of a rapid down that stands right above the hole's first and does nothing else, so that it may go lower.
fn plain_sink<'t, 'a>(sunk: &LongStep, first: &LongStep, text: &'t Text<'a>) -> Option<BlockEdit<'t, 'a>> {
    let above = text.block_before(first.block.span.start)?;
    let here = (sunk.block.source, sunk.block.trace) == (first.block.source, first.block.trace);
    if !here || above.span != sunk.block.span || above.delete.is_some() || sunk.state.distance != Distance::Absolute {
        return None;
    }
    let plain = |word: &Word| word.letter == b'Z' || (word.letter == b'G' && code_number(word) == Some(0));
    let edit = BlockEdit::open(text, above.span.start).ok()?;
    (edit.block.words.iter().all(plain) && edit.block.word(b'Z').is_some()).then_some(edit)
}

fn finish(edit: BlockEdit<'_, '_>) -> Result<Vec<Edit>, String> {
    if edit.is_unchanged() { Ok(Vec::new()) } else { edit.finish() }
}

/// A walk over the steps of one long-hand hole.
struct Rewriting<'w, 't, 'a> {
    text: &'t Text<'a>,
    wish: &'w Wish,
    lowest: f64,
    top: f64,
    /// F the new text has in force, program units.
    feed: Option<f64>,
    /// How much lower the tool stands than the old text would have it; matters under G91.
    shift: f64,
    /// The rapid down to where feeding begins, where its block may be changed.
    sunk: Option<BlockEdit<'t, 'a>>,
}

impl Rewriting<'_, '_, '_> {
    fn step(&mut self, step: &LongStep, edit: &mut BlockEdit<'_, '_>) -> Result<(), String> {
        let (from, to) = step.z;
        match step.kind {
            StepKind::Line if step.along && to < from => self.down(step, edit),
            StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_) => {
                let shaped = Wish { feed: self.wish.feed, ..Wish::default() } != *self.wish;
                if shaped && !(step.along && to >= from) {
                    return Err("the hole is milled, not drilled".to_owned());
                }
                self.say_feed(step, self.wish.feed.or(step.feed), edit)
            }
            StepKind::Rapid if to > from && close(from, self.lowest) => self.out(step, edit),
            StepKind::Dwell(_) if self.wish.no_dwell => {
                let words = edit.block.words.clone();
                let dwell = |word: &&Word| {
                    (word.letter == b'G' && code_number(word) == Some(4)) || matches!(word.letter, b'P' | b'X' | b'U')
                };
                words.iter().filter(dwell).for_each(|word| edit.remove(word.span));
                Ok(())
            }
            _ => Ok(()),
        }
    }

    /// Down to where feeding begins by rapid: by the rapid that is there, else in a block of its own before the first
    /// stroke.
    fn approach(&mut self, step: &LongStep, height: f64, edit: &mut BlockEdit<'_, '_>) -> Result<(), String> {
        if step.state.distance == Distance::Incremental {
            return Err("its strokes are written in steps, not positions".to_owned());
        }
        let style = &self.text.style;
        let down = style.word(b'Z', height / step.state.units.mm(), Rounding::Up);
        if let Some(sunk) = &mut self.sunk
            && let Some(own) = sunk.block.word(b'Z').map(|word| word.span)
        {
            sunk.replace(own, down);
            return Ok(());
        }
        edit.line_before(vec![style.code(b'G', 0), down]);
        let says_feed = edit.block.words.iter().any(|word| word.letter == b'G' && code_number(word) == Some(1));
        if !says_feed {
            edit.put_first(style.code(b'G', 1));
        }
        Ok(())
    }

    fn down(&mut self, step: &LongStep, edit: &mut BlockEdit<'_, '_>) -> Result<(), String> {
        let (mut from, old_to) = step.z;
        let mm = step.state.units.mm();
        if let Some(height) = self.wish.approach.filter(|height| close(from, self.top) && *height < from) {
            self.approach(step, height, edit)?;
            from = height;
        }
        let bottom = self.text.style.as_written(b'Z', self.wish.bottom(old_to) / mm, Rounding::Down) * mm;
        let deepest = close(old_to, self.lowest) && !close(self.wish.bottom(old_to), old_to);
        let to = if deepest { bottom } else { old_to };
        let feed = step.feed.ok_or("no feed is in force")?;
        let relative = step.state.distance == Distance::Incremental;
        let mut z = from;
        for (index, (end, feed)) in self.wish.stages(from, to, feed).into_iter().enumerate() {
            let value = (end - if relative { z } else { 0.0 }) / mm;
            let word = self.text.style.word(b'Z', value, Rounding::Nearest);
            if index == 0 {
                let own = edit.block.word(b'Z').map(|word| word.span);
                match own.ok_or("the stroke's block has no Z word")? {
                    own if !close(end, old_to) => edit.replace(own, word),
                    _ => {}
                }
                self.say_feed(step, Some(feed), edit)?;
            } else {
                let feed = self.feed_of(step, feed)?;
                let mut line = vec![self.text.style.code(b'G', 1), word];
                if self.feed.is_none_or(|last| !close(last, feed)) {
                    line.push(self.text.style.word(b'F', feed, Rounding::Nearest));
                }
                self.feed = Some(feed);
                edit.line_after(line);
            }
            z = end;
        }
        self.shift = to - old_to;
        Ok(())
    }

    /// Out of the hole: first at feed where that is wished, and under G91 by as much more as the hole became deeper.
    fn out(&mut self, step: &LongStep, edit: &mut BlockEdit<'_, '_>) -> Result<(), String> {
        let relative = step.state.distance == Distance::Incremental;
        let mm = step.state.units.mm();
        if relative && self.shift != 0.0 {
            let own = edit.block.word(b'Z').map(|word| word.span).ok_or("the retract's block has no Z word")?;
            let value = (step.z.1 - step.z.0 - self.shift) / mm;
            edit.replace(own, self.text.style.word(b'Z', value, Rounding::Nearest));
        }
        if !self.wish.feed_out {
            return Ok(());
        }
        if relative || !step.along {
            return Err("the way out of the hole is not a plain absolute move along Z".to_owned());
        }
        let top = self.top.min(step.z.1);
        edit.line_before(vec![self.text.style.code(b'G', 1), self.text.style.word(b'Z', top / mm, Rounding::Nearest)]);
        let says_rapid = edit.block.words.iter().any(|word| word.letter == b'G' && code_number(word) == Some(0));
        if !says_rapid {
            edit.put_first(self.text.style.code(b'G', 0));
        }
        Ok(())
    }

    /// Makes sure the block runs at `feed`, mm/min.
    fn say_feed(&mut self, step: &LongStep, feed: Option<f64>, edit: &mut BlockEdit<'_, '_>) -> Result<(), String> {
        let Some(feed) = feed else { return Ok(()) };
        let wanted = self.feed_of(step, feed)?;
        let old = step.state.feed_word;
        let same = |a: Option<f64>| a.is_some_and(|a| close(a, wanted));
        let word = || self.text.style.word(b'F', wanted, Rounding::Nearest);
        match edit.block.word(b'F').map(|word| word.span) {
            Some(own) if !same(old) => edit.replace(own, word()),
            None if !same(self.feed) => edit.put_last(word()),
            _ => {}
        }
        self.feed = Some(wanted);
        Ok(())
    }

    fn feed_of(&self, step: &LongStep, feed: f64) -> Result<f64, String> {
        match (step.feed, step.state.feed_word) {
            (Some(old), Some(typed)) if close(old, feed) => Ok(typed),
            _ => feed_word(self.text, &step.state, feed, step.feed),
        }
    }

    /// What the blocks behind the hole need: a higher retract, and the F they would have taken over.
    fn leave(&mut self, hole: &LongHand, step: &LongStep, edit: &mut BlockEdit<'_, '_>) {
        let style = &self.text.style;
        let mut line = Line::new();
        if let Some(height) = self.wish.retract_to.filter(|height| *height > step.z.1) {
            let from = if step.state.distance == Distance::Incremental { step.z.1 } else { 0.0 };
            line.extend([
                style.code(b'G', 0),
                style.word(b'Z', (height - from) / step.state.units.mm(), Rounding::Nearest),
            ]);
        }
        let old =
            hole.steps.iter().rev().find(|step| step.kind == StepKind::Line).and_then(|step| step.state.feed_word);
        if let Some(old) = old.filter(|_| hole.after.feed)
            && self.feed.is_none_or(|feed| !close(feed, old))
        {
            line.push(style.word(b'F', old, Rounding::Nearest));
        }
        if !line.is_empty() {
            edit.line_after(line);
        }
    }
}
