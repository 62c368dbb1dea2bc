//! The way of the tool before and after an edit, step by step: it differs only where an edit says so.
//!
//! A step of a line that no edit touches must be the same step. An axis that rests may rest where an edit before it has
//! left it, and a modal value may differ only when the word in force stands on an edited line. The steps of edited lines
//! are compared by what their edits may do.

mod liberty;
mod segment;
mod trod;

pub use liberty::{Liberty, Ramp};

use super::edit::Edits;
use crate::motion::{FeedMode, ModalState, PathMode, Set, Settings, ToolTable, run};
use crate::program::ProgramGraph;
use crate::source::{Library, LineIndex, Source, SourceId};
use segment::agree;
use std::collections::BTreeMap;
use trod::{Act, At, Treader, Trod, Values};

/// Agreement asked of places that should be the same, mm.
const SAME: f64 = 1e-4;
/// Turn from which an exact stop between two straight moves counts as meant, degrees. House value.
const CORNER: f64 = 30.0;
/// The same of feeds and speeds, as a share.
const ALIKE: f32 = 1e-6;

/// Every step of the program as it is.
#[derive(Debug, Default)]
pub struct Way(Vec<Trod>);

/// What changes, and what that may do.
pub struct Change<'a> {
    /// Texts as they were.
    pub sources: &'a [Source],
    /// Edits by source.
    pub edits: &'a BTreeMap<SourceId, Edits>,
    /// Leave by source and first byte of the line, as it was.
    pub liberties: &'a BTreeMap<At, Liberty>,
}

impl Way {
    /// Runs a program and keeps its steps.
    #[must_use]
    pub fn of(main: &Source, library: &dyn Library, settings: &Settings, tools: &ToolTable) -> Self {
        let mut steps = Vec::new();
        let programs = ProgramGraph::read(main.clone(), library, &settings.lexis());
        run(&programs, settings, tools, &mut Treader(|step: Trod, _: &ModalState| steps.push(step)));
        Self(steps)
    }

    /// Runs the changed program beside the steps kept.
    ///
    /// # Errors
    /// With the first line whose steps differ without leave.
    pub fn compare(
        &self,
        change: &Change<'_>,
        main: &Source,
        library: &dyn Library,
        settings: &Settings,
        tools: &ToolTable,
    ) -> Result<(), String> {
        let mut beside =
            Beside { change, old: &self.0, last: [None; 2], heading: None, segment: Vec::new(), fault: None };
        let programs = ProgramGraph::read(main.clone(), library, &settings.lexis());
        run(&programs, settings, tools, &mut Treader(|step: Trod, state: &ModalState| beside.take(step, state)));
        beside.finish()
    }
}

/// A walk along both ways at once.
struct Beside<'a> {
    change: &'a Change<'a>,
    /// Steps still to come of the old way.
    old: &'a [Trod],
    /// Where each way stands.
    last: [Option<Trod>; 2],
    /// Heading of the last straight move at feed, from above.
    heading: Option<[f64; 2]>,
    /// New steps of edited lines, with their lines, since the last step that is the same.
    segment: Vec<(At, Trod, Grants)>,
    fault: Option<String>,
}

/// Modal values whose word in force stands on an edited line.
#[derive(Clone, Copy, Debug, Default)]
struct Grants {
    feed: bool,
    speed: bool,
    sense: bool,
    path: bool,
    air: bool,
    /// Units changed.
    units: bool,
    /// The length offset changed.
    length: bool,
}

impl Beside<'_> {
    fn take(&mut self, new: Trod, state: &ModalState) {
        if self.fault.is_some() {
            return;
        }
        let line = self.origin(new.block);
        self.turn(&new, line);
        let offset_anew = new.cutter.is_some_and(|at| self.leave(self.origin(at)).is_some_and(|leave| leave.frame));
        if self.leave(line).is_some() || offset_anew {
            let grants = self.grants(state);
            self.segment.push((line, new, grants));
            return;
        }
        let same = self.close().and_then(|()| {
            let same = self.next_is_same(line, &new, state);
            same.map_err(|fault| format!("in line {}, {fault}", self.number(line)))
        });
        match same {
            Ok(()) => self.last[1] = Some(new),
            Err(fault) => self.fault = Some(fault),
        }
    }

    /// Goes on to the next heading. Where exact stop was in force and no longer is, the way may not turn sharply.
    fn turn(&mut self, new: &Trod, line: At) {
        let from = self.segment.last().map(|(_, step, _)| step).or(self.last[1].as_ref());
        let heading =
            from.filter(|_| new.act == Act::Line).map(|from| [new.to[0] - from.to[0], new.to[1] - from.to[1]]);
        let heading = heading.filter(|[x, y]| libm::hypot(*x, *y) > SAME);
        let before = std::mem::replace(&mut self.heading, heading);
        let was_exact = self.old.first().is_some_and(|old| old.values.path != PathMode::Continuous);
        let Some(([ax, ay], [bx, by])) = before.zip(heading).filter(|_| was_exact) else { return };
        let turn = libm::atan2(ax * by - ay * bx, ax * bx + ay * by).to_degrees().abs();
        if new.values.path == PathMode::Continuous && turn > CORNER {
            let (number, turn) = (self.number(line), libm::round(turn));
            self.fault = Some(format!("an exact stop would go at the corner of {turn} degrees before line {number}"));
        }
    }

    fn finish(mut self) -> Result<(), String> {
        if let Some(fault) = self.fault.take() {
            return Err(fault);
        }
        self.close()?;
        match self.old.first() {
            Some(step) => Err(format!("line {} would no longer be run", self.number(self.line(step.block)))),
            None => Ok(()),
        }
    }

    fn next_is_same(&mut self, line: At, new: &Trod, state: &ModalState) -> Result<(), String> {
        let Some((old, rest)) = self.old.split_first() else { return Err("a step would be new".to_owned()) };
        if self.line(old.block) != line {
            return Err("the order of steps would change".to_owned());
        }
        let same = place_is_same(old, new) && values_differ(&old.values, &new.values).is_none();
        if !same {
            let grants = self.grants(state);
            if !grants.units && !place_is_same(&at_length(old, new, grants), new) {
                return Err("the tool would go another way".to_owned());
            }
            values_granted(old, new, grants)?;
        }
        (self.old, self.last[0]) = (rest, Some(*old));
        Ok(())
    }

    /// Ends a stretch of edited lines.
    fn close(&mut self) -> Result<(), String> {
        let ends = self.old.iter().position(|step| !self.is_edited(step)).unwrap_or(self.old.len());
        let (old, rest) = self.old.split_at_checked(ends).unwrap_or((self.old, &[]));
        if old.is_empty() && self.segment.is_empty() {
            return Ok(());
        }
        let old_lines: Vec<(At, Trod)> = old.iter().map(|step| (self.line(step.block), *step)).collect();
        let leave =
            |line: At| self.leave(line).cloned().unwrap_or_else(|| Liberty { frame: true, ..Liberty::default() });
        agree(&old_lines, &self.segment, self.last, &leave).map_err(|fault| {
            let new = self.segment.first().map(|(line, ..)| *line);
            let line = new.or(old_lines.first().map(|(line, _)| *line)).unwrap_or_default();
            format!("the edit in line {} {fault}", self.number(line))
        })?;
        if let Some(step) = old.last() {
            self.last[0] = Some(*step);
        }
        if let Some((_, step, _)) = self.segment.last() {
            self.last[1] = Some(*step);
        }
        self.segment.clear();
        self.old = rest;
        Ok(())
    }

    fn is_edited(&self, step: &Trod) -> bool {
        let framed = |at: At| self.leave(self.line(at)).is_some_and(|leave| leave.frame);
        self.leave(self.line(step.block)).is_some() || step.cutter.is_some_and(framed)
    }

    fn leave(&self, line: At) -> Option<&Liberty> {
        self.change.liberties.get(&line)
    }

    /// The line, as it was, that a byte of the new text comes from.
    fn origin(&self, (source, at): At) -> At {
        let at = self.change.edits.get(&source).map_or(at, |edits| edits.origin_of(at));
        self.line((source, at))
    }

    fn line(&self, (source, at): At) -> At {
        let text = self.change.sources.get(usize::from(source.0));
        (source, text.map_or(at, |text| text.line_start(at)))
    }

    fn number(&self, (source, at): At) -> u32 {
        let text = self.change.sources.get(usize::from(source.0)).map_or(&[][..], |text| &text.bytes);
        LineIndex::new(text).position(at).line
    }

    fn grants(&self, state: &ModalState) -> Grants {
        let edited = |source: u16, at: u32| {
            (at != crate::motion::UNSTATED).then(|| self.leave(self.origin((SourceId(source), at)))).flatten()
        };
        let speed = edited(state.speed.source, state.speed.at).is_some();
        let units = edited(state.units.source, state.units.at).is_some_and(|leave| leave.frame);
        let timed = state.feed_mode.value == FeedMode::InverseTime;
        let word = stated(&state.feed_word, &edited);
        Grants {
            feed: word || units || timed || speed && state.feed_mode.value == FeedMode::PerRev,
            speed,
            sense: stated(&state.spindle, &edited),
            path: stated(&state.path, &edited),
            air: stated(&state.mist, &edited) || stated(&state.flood, &edited) || stated(&state.extraction, &edited),
            units,
            length: edited(state.length.source, state.length.at).is_some_and(|leave| leave.length),
        }
    }
}

fn stated<'l, T>(set: &Set<T>, edited: &dyn Fn(u16, u32) -> Option<&'l Liberty>) -> bool {
    edited(set.source, set.at).is_some()
}

/// The old step at the height of the new one, where the length offset may have changed.
fn at_length(old: &Trod, new: &Trod, grants: Grants) -> Trod {
    let [x, y, z] = old.to;
    let [.., lifted] = new.to;
    Trod { to: [x, y, if grants.length { lifted } else { z }], ..*old }
}

/// Whether two steps are the same but for modal values: each axis ends at the same place, or rests in both.
fn place_is_same(old: &Trod, new: &Trod) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= SAME;
    let axis = |index: usize| {
        let resting = old.still.has(index) && new.still.has(index);
        let ends = old.to.get(index).zip(new.to.get(index)).is_none_or(|(a, b)| near(*a, *b));
        resting || old.known.has(index) == new.known.has(index) && (ends || !new.known.has(index))
    };
    let turned = (0..3).all(|index| old.turned.get(index) == new.turned.get(index));
    let arc = || {
        old.centre.iter().zip(&new.centre).all(|(a, b)| near(*a, *b))
            && near(f64::from(old.sweep), f64::from(new.sweep))
    };
    match old.act {
        // How deep and with which strokes is compared hole by hole.
        Act::Cycle => new.act == Act::Cycle && axis(0) && axis(1),
        act => act == new.act && turned && (0..3).all(axis) && arc(),
    }
}

/// Which values differ.
fn values_differ(old: &Values, new: &Values) -> Option<[bool; 6]> {
    let unlike = |a: Option<f32>, b: Option<f32>| match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() > ALIKE * (1.0 + a.abs()),
        (a, b) => a.is_some() != b.is_some(),
    };
    let differ = [
        unlike(old.feed, new.feed),
        unlike(old.speed, new.speed),
        old.sense != new.sense,
        old.path != new.path,
        old.air != new.air,
        old.tool != new.tool,
    ];
    differ.contains(&true).then_some(differ)
}

fn values_granted(old: &Trod, new: &Trod, grants: Grants) -> Result<(), String> {
    let Some(differ) = values_differ(&old.values, &new.values) else { return Ok(()) };
    let Grants { feed, speed, sense, path, air, .. } = grants;
    // The strokes of a hole state their own feeds.
    let feed = feed || old.act == Act::Cycle || old.act != new.act;
    let names = ["feed", "speed", "sense of the spindle", "exact stop", "coolant or extraction", "tool"];
    let leave = [feed, speed, sense, path, air, false];
    let named = differ.into_iter().zip(leave).zip(names).find(|((differs, may), _)| *differs && !may);
    named.map_or(Ok(()), |(_, name)| Err(format!("the {name} would change")))
}
