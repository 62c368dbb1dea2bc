//! A row written in another order: the lines as they are, with the modal words that each now has to say itself.

use super::scan::Now;
use super::stops::{Line, Row, Stop, is_cycle};
use super::travel::{Spot, Travel};
use crate::motion::{CycleCall, MotionMode, ReturnLevel};
use crate::patch::{Rounding, Style, number};
use crate::source::Span;
use crate::syntax::Word;

/// Heights and feeds that agree to this much are equal.
const HAIR: f64 = 1e-6;

/// What the new text has said so far.
struct Carry {
    now: Now,
    at: Option<[f64; 2]>,
    /// Height the tool comes at.
    height: Option<f64>,
    call: Option<CycleCall>,
}

/// A line of the new text, without N word and line end.
struct Written {
    text: String,
    /// Whether no line of the old text stands for it.
    added: bool,
}

/// What becomes of the words of one line.
#[derive(Default)]
struct Changed {
    front: Vec<String>,
    x: Option<String>,
    y: Option<String>,
    back: Vec<String>,
    replaced: Vec<(Span, String)>,
    removed: Vec<Span>,
}

/// One row being written.
pub(super) struct Writer<'a> {
    pub row: &'a Row,
    pub spots: &'a [Spot],
    pub travel: &'a Travel<'a>,
    pub bytes: &'a [u8],
    pub style: &'a Style,
}

impl Writer<'_> {
    /// The row's text in that order.
    ///
    /// # Errors
    /// With the reason, when a word that a stop would have to say stands nowhere before it.
    pub fn text(&self, order: &[usize]) -> Result<Vec<u8>, String> {
        let first = self.row.stops.first().ok_or("there is nothing to write")?;
        let (at, height) = (self.row.from.map(|[x, y, _]| [x, y]), self.row.from.map(|[_, _, z]| z));
        let mut carry = Carry { now: first.state.0, at, height, call: None };
        let mut lines = Vec::new();
        for (place, index) in order.iter().enumerate() {
            let stop = self.row.stops.get(*index).ok_or("a stop is missing")?;
            let leave = self.leave(order, place);
            self.stop(stop, place > 0 && *index == 0, leave, &mut carry, &mut lines)?;
        }
        Ok(self.numbered(lines))
    }

    /// How high the stop at a place of the order leaves the tool; the last one as the row's last did.
    pub fn leave(&self, order: &[usize], place: usize) -> f64 {
        let spot = |place: usize| order.get(place).and_then(|index| self.spots.get(*index));
        let last = self.row.stops.last().map_or(0.0, |stop| stop.leave);
        let (Some(here), Some(next)) = (spot(place), spot(place + 1)) else { return last };
        match self.travel.hop(here, next) {
            Ok(Some(height)) => height,
            Ok(None) if here.high.is_none() => here.low.max(next.low),
            _ => here.low,
        }
    }

    fn stop(
        &self,
        stop: &Stop,
        was_head: bool,
        leave: f64,
        carry: &mut Carry,
        lines: &mut Vec<Written>,
    ) -> Result<(), String> {
        let head = stop.lines.iter().position(|line| !line.block.words.is_empty());
        let last = stop.lines.len() - 1;
        let mut fed = false;
        for (index, line) in stop.lines.iter().enumerate() {
            let mut changed = Changed::default();
            if Some(index) == head {
                place(stop, line, carry, &mut changed)?;
                let rapid = line.block.words.iter().any(|word| word.letter == b'G' && number(word) == Some(0.0));
                if line.ran.call.is_none() && !rapid && carry.now.motion != MotionMode::Rapid {
                    changed.front.push(self.style.code(b'G', 0));
                }
            }
            match line.ran.call {
                Some(call) => self.cycle(stop, line, &call, (was_head, leave), carry, &mut changed)?,
                None if line.ran.feeds && !fed => {
                    fed = true;
                    lines.extend(self.approach(stop, carry));
                    say_feed(stop, line, carry, &mut changed)?;
                }
                None if index == last => self.rise(stop, line, leave, &mut changed),
                None => {}
            }
            lines.push(Written { text: self.line(line, &changed), added: false });
        }
        carry.now = Now { level: carry.now.level, ..stop.state.1 };
        if stop.call.is_none() {
            carry.now.level = stop.state.1.level;
        }
        (carry.at, carry.height) = (Some(stop.at), Some(leave));
        carry.call = stop.call;
        Ok(())
    }

    /// A rapid down to where a hole is begun that was come to at that height, and now is come to higher.
    fn approach(&self, stop: &Stop, carry: &Carry) -> Option<Written> {
        let came = stop.lines.iter().find_map(|line| line.ran.from).map(|[_, _, z]| z)?;
        let mut above = stop.lines.iter().take_while(|line| !line.ran.feeds);
        let own = above.any(|line| line.block.word(b'Z').is_some());
        let lower = !own && close(came, stop.low) && carry.height.is_some_and(|height| height > stop.low + HAIR);
        let down = || self.style.word(b'Z', stop.low / stop.state.1.frame.units.mm(), Rounding::Up);
        lower.then(|| Written { text: self.style.join(&[self.style.code(b'G', 0), down()]), added: true })
    }

    /// The words of a cycle that the text before it does not say.
    fn cycle(
        &self,
        stop: &Stop,
        line: &Line,
        call: &CycleCall,
        (was_head, leave): (bool, f64),
        carry: &mut Carry,
        changed: &mut Changed,
    ) -> Result<(), String> {
        let active = carry.now.motion == MotionMode::Cycle(call.code);
        let own = line.block.words.iter().any(is_cycle);
        let states = |letter: u8| line.block.word(letter).is_some();
        let level = self.level(stop, call, leave);
        let level_word = line.block.words.iter().find(|word| is_level(word));
        if was_head && active && self.others_follow() && carry.call.is_some_and(|known| same(&known, call)) {
            let words = line.block.words.iter();
            let gone = words.filter(|word| is_cycle(word) || matches!(word.letter, b'Z' | b'R' | b'Q' | b'P'));
            changed.removed.extend(gone.map(|word| word.span));
            if carry.now.feed == stop.state.1.feed {
                changed.removed.extend(line.block.word(b'F').map(|word| word.span));
            }
            if carry.now.level == level {
                changed.removed.extend(level_word.map(|word| word.span));
            }
        }
        if let Some(word) = level_word {
            if stop.state.1.level != level {
                changed.replaced.push((word.span, self.level_code(level)));
            }
        } else if carry.now.level != level {
            changed.front.push(self.level_code(level));
        }
        carry.now.level = level;
        if !own && !active {
            changed.front.push(typed(stop, b'G')?);
        }
        let known = carry.call.filter(|_| active && !own);
        let wanted = [
            (b'Z', known.is_some_and(|known| close(known.bottom, call.bottom)), true),
            (b'R', known.is_some_and(|known| close(known.r, call.r)), true),
            (b'Q', known.is_some_and(|known| known.q == call.q), call.q.is_some()),
            (b'P', known.is_some_and(|known| known.dwell == call.dwell), call.dwell.is_some()),
            (b'F', carry.now.feed == stop.state.1.feed, true),
        ];
        for (letter, said, needed) in wanted {
            if needed && !said && !states(letter) {
                changed.back.push(typed(stop, letter)?);
            }
        }
        Ok(())
    }

    /// Whether the stops behind the row's first take its cycle over.
    fn others_follow(&self) -> bool {
        let second = self.row.stops.get(1).and_then(|stop| stop.lines.last());
        second.is_some_and(|line| !line.block.words.iter().any(is_cycle))
    }

    /// G98 or G99, whichever leaves the tool at that height; as it is where both do.
    fn level(&self, stop: &Stop, call: &CycleCall, leave: f64) -> ReturnLevel {
        let initial = stop.initial.unwrap_or(call.clear).max(call.r);
        if close(initial, call.r) {
            return stop.state.1.level;
        }
        if close(leave, call.r) { ReturnLevel::RPlane } else { ReturnLevel::Initial }
    }

    fn level_code(&self, level: ReturnLevel) -> String {
        self.style.code(b'G', if level == ReturnLevel::RPlane { 99 } else { 98 })
    }

    /// The retract of a hole written move by move, to another height.
    fn rise(&self, stop: &Stop, line: &Line, leave: f64, changed: &mut Changed) {
        if close(stop.leave, leave) {
            return;
        }
        if let Some(word) = line.block.word(b'Z') {
            let value = leave / stop.state.1.frame.units.mm();
            changed.replaced.push((word.span, self.style.word(b'Z', value, Rounding::Up)));
        }
    }

    /// One line with its words changed, without N word and line end.
    fn line(&self, line: &Line, changed: &Changed) -> String {
        let text = |span: Span| String::from_utf8_lossy(span.of(self.bytes)).into_owned();
        if changed.is_nothing() {
            let start = line.block.n.map_or(line.block.span.start, |n| n.end);
            return text(Span::new(start, line.block.span.end)).trim_start().to_owned();
        }
        let stays = line.block.words.iter().filter(|word| !changed.removed.contains(&word.span));
        let mut words: Vec<String> = changed.front.clone();
        let mut placed = [&changed.x, &changed.y].map(Clone::clone);
        for word in stays {
            if word.letter != b'G' {
                // X stands before Y, both before everything else.
                let [x, y] = &mut placed;
                words.extend(x.take());
                if word.letter != b'X' {
                    words.extend(y.take());
                }
            }
            let new = changed.replaced.iter().find(|(span, _)| *span == word.span);
            words.push(new.map_or_else(|| text(word.span), |(_, new)| new.clone()));
        }
        words.extend(placed.into_iter().flatten());
        words.extend(changed.back.iter().cloned());
        let mut line_text = self.style.join(&words);
        for comment in &line.block.comments {
            line_text = format!("{line_text} {}", text(*comment)).trim_start().to_owned();
        }
        line_text
    }

    /// The lines with the N words and line ends of the places they now stand at.
    fn numbered(&self, lines: Vec<Written>) -> Vec<u8> {
        let mut out = Vec::new();
        let mut places = self.row.stops.iter().flat_map(|stop| &stop.lines).map(|line| &line.block);
        let mut end: &[u8] = b"\n";
        for line in lines {
            let place = if line.added { None } else { places.next() };
            if let Some(n) = place.and_then(|place| place.n) {
                out.extend_from_slice(n.of(self.bytes));
                if self.style.spaced && !line.text.is_empty() {
                    out.push(b' ');
                }
            }
            end = place.map_or(end, |place| place.end.of(self.bytes));
            out.extend_from_slice(line.text.as_bytes());
            out.extend_from_slice(end);
        }
        out
    }
}

impl Changed {
    fn is_nothing(&self) -> bool {
        self.front.is_empty()
            && self.back.is_empty()
            && self.x.is_none()
            && self.y.is_none()
            && self.replaced.is_empty()
            && self.removed.is_empty()
    }
}

/// Says X and Y where the tool no longer comes from a place that shares them.
fn place(stop: &Stop, line: &Line, carry: &Carry, changed: &mut Changed) -> Result<(), String> {
    let [x, y] = stop.at;
    let (from_x, from_y) = carry.at.map_or((None, None), |[x, y]| (Some(x), Some(y)));
    let stands = |from: Option<f64>, to: f64| from.is_some_and(|from| close(from, to));
    if line.block.word(b'X').is_none() && !stands(from_x, x) {
        changed.x = Some(typed(stop, b'X')?);
    }
    if line.block.word(b'Y').is_none() && !stands(from_y, y) {
        changed.y = Some(typed(stop, b'Y')?);
    }
    Ok(())
}

/// Says F where the first stroke takes it over from a hole that no longer comes before it.
fn say_feed(stop: &Stop, line: &Line, carry: &Carry, changed: &mut Changed) -> Result<(), String> {
    let wanted = line.ran.now.and_then(|now| now.feed);
    if line.block.word(b'F').is_none() && wanted != carry.now.feed {
        changed.back.push(typed(stop, b'F')?);
    }
    Ok(())
}

fn typed(stop: &Stop, letter: u8) -> Result<String, String> {
    let name = char::from(letter);
    stop.typed.get(&letter).cloned().ok_or_else(|| format!("the {name} it would have to say stands nowhere before it"))
}

fn same(a: &CycleCall, b: &CycleCall) -> bool {
    a.code == b.code && close(a.r, b.r) && close(a.bottom, b.bottom) && a.q == b.q && a.dwell == b.dwell
}

fn is_level(word: &Word) -> bool {
    word.letter == b'G' && matches!(number(word), Some(98.0 | 99.0))
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= HAIR
}
