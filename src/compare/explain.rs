//! What differs between two passages that belong together, in numbers.

use super::act::{Act, At, Conditions, Event, What, Word};
use super::change::{Aspect, Value};
use super::passage::Kind;
use super::record::Record;
use super::{Revision, conditions, path, shape};
use crate::syntax::{Block, Blocks};
use imara_diff::{Algorithm, Diff, Hunk, InternedInput};
use std::hash::Hash;

/// One difference.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Difference {
    pub aspect: Aspect,
    pub old: Option<Value>,
    pub new: Option<Value>,
    pub note: Option<String>,
    /// Where to look in OLD and in NEW; the feature's first block where nothing is given.
    pub at: [Option<Word>; 2],
}

impl Difference {
    pub fn new(aspect: Aspect, old: Option<Value>, new: Option<Value>) -> Self {
        Self { aspect, old, new, note: None, at: [None; 2] }
    }

    /// The same with where to look.
    pub fn at(self, old: Option<Word>, new: Option<Word>) -> Self {
        Self { at: [old, new], ..self }
    }
}

/// One side of a pair: its acts and what they refer to.
#[derive(Clone, Copy)]
pub(super) struct Side<'a> {
    pub acts: &'a [Act],
    pub record: &'a Record,
    pub revision: &'a Revision<'a>,
}

impl<'a> Side<'a> {
    /// The conditions an act runs in.
    pub fn conditions(&self, act: &Act) -> Option<&'a Conditions> {
        self.record.book.get(act.conditions)
    }

    /// The word that stated one of an act's conditions.
    pub fn stated(&self, act: &Act, aspect: Aspect) -> Option<Word> {
        self.record.book.stated(act, aspect)
    }

    fn events(&self) -> Vec<(Event, At)> {
        let event = |act: &Act| match act.what {
            What::Event(event) => Some((event, act.at)),
            What::Rapid | What::Line | What::Arc(..) => None,
        };
        self.acts.iter().filter_map(event).collect()
    }

    /// The words of a block without its number and comments.
    fn words(&self, at: At) -> String {
        let source = self.revision.programs.sources().get(usize::from(at.source.0));
        let bytes = source.map_or(&[][..], |source| at.span.of(&source.bytes));
        let mut block = Block::default();
        Blocks::new(bytes, 0, self.revision.settings.lexis()).next(&mut block);
        let mark = block.delete.map(|(span, _)| span);
        let spans = mark.into_iter().chain(block.words.iter().map(|word| word.span));
        let words: Vec<_> = spans.map(|span| String::from_utf8_lossy(span.of(bytes)).into_owned()).collect();
        if words.is_empty() || block.control.is_some() || !block.faults.is_empty() {
            return String::from_utf8_lossy(bytes).trim().to_owned();
        }
        words.join(" ")
    }
}

/// All differences, safety first. Empty only when the passages do the same.
pub(super) fn explain(kind: Kind, old: Side<'_>, new: Side<'_>) -> Vec<Difference> {
    let mut found = events(old, new);
    found.extend(conditions::differences(kind, old, new));
    match kind {
        Kind::Hole => found.extend(shape::differences(old, new)),
        Kind::Cut | Kind::Link => found.extend(path::differences(kind, old, new)),
    }
    if found.is_empty() && !path::are_near(old, new) {
        let mut rest = Difference::new(Aspect::Unmeasured, None, None);
        rest.note = Some("the same words take effect at another move".to_owned());
        found.push(rest);
    }
    found
}

/// Hunks in which two lists differ.
pub(super) fn hunks<T: Hash + Eq + Copy + Default>(old: &[T], new: &[T]) -> Vec<Hunk> {
    let mut input: InternedInput<T> = InternedInput::default();
    input.reserve(u32::try_from(old.len()).unwrap_or(0), u32::try_from(new.len()).unwrap_or(0));
    input.update_before(old.iter().copied());
    input.update_after(new.iter().copied());
    Diff::compute(Algorithm::Histogram, &input).hunks().collect()
}

/// Members of both lists that no hunk touches, side by side.
pub(super) fn kept<'h, 'a: 'h, T>(
    changed: &'h [Hunk],
    old: &'a [T],
    new: &'a [T],
) -> impl Iterator<Item = (&'a T, &'a T)> {
    let starts = std::iter::once((0, 0)).chain(changed.iter().map(|hunk| (hunk.before.end, hunk.after.end)));
    let ends = changed.iter().map(|hunk| hunk.before.start).chain(std::iter::once(u32::MAX));
    starts.zip(ends).flat_map(|((before, after), end)| {
        let old = old.get(before as usize..(end as usize).min(old.len())).unwrap_or_default();
        old.iter().zip(new.get(after as usize..).unwrap_or_default())
    })
}

fn events(old: Side<'_>, new: Side<'_>) -> Vec<Difference> {
    let (olds, news) = (old.events(), new.events());
    let key = |(event, _): &(Event, At)| match *event {
        Event::Dwell(seconds) => (0, seconds.to_bits()),
        Event::Pause(typed) => (1, typed.map_or(u64::MAX, f64::to_bits)),
        Event::Stop(number) => (2, u64::from(number)),
        Event::ToolChange(tool) => (3, u64::from(tool)),
        Event::Words(digest) => (4, digest),
    };
    let keys = |list: &[(Event, At)]| list.iter().map(key).collect::<Vec<_>>();
    let mut found = Vec::new();
    for hunk in hunks(&keys(&olds), &keys(&news)) {
        let part = |list: &[(Event, At)], range: std::ops::Range<u32>| {
            list.get(range.start as usize..range.end as usize).unwrap_or_default().to_vec()
        };
        found.extend(event_pairs(old, &part(&olds, hunk.before), new, part(&news, hunk.after)));
    }
    found
}

/// Events of one kind replace each other in order; what is left came or went.
fn event_pairs(old: Side<'_>, olds: &[(Event, At)], new: Side<'_>, mut news: Vec<(Event, At)>) -> Vec<Difference> {
    let mut found = Vec::new();
    for (event, at) in olds {
        let twin = news.iter().position(|(other, _)| aspect(*other) == aspect(*event)).map(|twin| news.remove(twin));
        // Another tool is told of the features it makes.
        if !(twin.is_some() && matches!(event, Event::ToolChange(_))) {
            let now = twin.map(|(event, at)| said(event, new, at));
            let told = Difference::new(aspect(*event), Some(said(*event, old, *at)), now);
            found.push(told.at(Some(block(*at)), twin.map(|(_, at)| block(at))));
        }
    }
    found.extend(
        news.into_iter().map(|(event, at)| {
            Difference::new(aspect(event), None, Some(said(event, new, at))).at(None, Some(block(at)))
        }),
    );
    found
}

fn block(at: At) -> Word {
    (at.source, at.span.start)
}

fn aspect(event: Event) -> Aspect {
    match event {
        Event::Dwell(_) | Event::Pause(_) => Aspect::Dwell,
        Event::Stop(_) => Aspect::Stop,
        Event::ToolChange(_) => Aspect::ToolChange,
        Event::Words(_) => Aspect::Words,
    }
}

fn said(event: Event, side: Side<'_>, at: At) -> Value {
    match event {
        Event::Dwell(seconds) => Value::number(seconds, "s"),
        Event::Pause(Some(typed)) => Value::Words(format!("P{}", crate::units::trimmed(typed, 4))),
        Event::Pause(None) => Value::Words(side.words(at)),
        Event::Stop(number) => Value::Words(format!("M{number}")),
        Event::ToolChange(tool) => Value::Words(format!("M6 to T{tool}")),
        Event::Words(_) => Value::Words(side.words(at)),
    }
}
