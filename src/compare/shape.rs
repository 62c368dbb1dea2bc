//! Differences of two holes: depth, heights, pecks, feeds by depth.

use super::act::{Act, What, Word, feed as on_grid, position};
use super::change::{Aspect, Value, axis_letter};
use super::explain::{Difference, Side};
use super::path;
use crate::motion::FeedMode;

/// A height and the block that goes there.
type Height = (f64, Word);

/// A hole as its strokes make it; heights in mm along the axis.
struct Shape {
    axis: char,
    start: Height,
    bottom: Height,
    /// Where the tool is left; `None` when it is not taken out here.
    clear: Option<Height>,
    /// How deep each peck goes beyond the one before.
    pecks: Vec<f64>,
    /// Feeds on the way down with the height each ends at.
    down: Vec<(f64, Feed)>,
    /// Feeds on the way up.
    up: Vec<(f64, Feed)>,
}

/// A feed as it counts: by turn in G95, else by minute.
#[derive(Clone, Copy)]
struct Feed {
    per_minute: Option<f64>,
    speed: Option<f64>,
    by_turn: bool,
    /// The F word.
    word: Option<Word>,
}

impl Feed {
    fn of(act: &Act, side: Side<'_>) -> Self {
        let conditions = side.conditions(act);
        let speed = conditions.and_then(|conditions| conditions.speed).filter(|speed| *speed > 0.0);
        let by_turn = conditions.is_some_and(|conditions| conditions.feed_mode == FeedMode::PerRev);
        Self { per_minute: act.feed, speed, by_turn, word: act.feed_word }
    }

    fn per_turn(self) -> Option<f64> {
        Some(self.per_minute? / self.speed?)
    }

    fn is(self, other: Self) -> bool {
        if self.by_turn && other.by_turn {
            let fine = |feed: Self| on_grid(feed.per_turn().map(|feed| feed * 1000.0));
            return fine(self) == fine(other);
        }
        on_grid(self.per_minute) == on_grid(other.per_minute)
    }

    fn value(self) -> Value {
        match (self.per_turn(), self.per_minute) {
            (Some(feed), _) => Value::number(feed, "mm/rev"),
            (None, Some(feed)) => Value::number(feed, "mm/min"),
            (None, None) => Value::Words("not known".to_owned()),
        }
    }
}

impl Shape {
    fn of(side: Side<'_>) -> Option<Self> {
        let feeding = || side.acts.iter().filter(|act| act.feeds());
        let first = feeding().next()?;
        let (_, _, normal) = first.axes();
        let start = first.start(normal);
        let lower = |lowest: Height, act: &Act| {
            let end = act.end(normal);
            if end < lowest.0 { (end, act.block()) } else { lowest }
        };
        let bottom = feeding().fold((start, first.block()), lower);
        let last = side.acts.last().filter(|act| act.what == What::Rapid);
        let mut shape = Self {
            axis: axis_letter(normal),
            start: (start, first.block()),
            bottom,
            clear: last.map(|act| (act.end(normal), act.block())),
            pecks: Vec::new(),
            down: Vec::new(),
            up: Vec::new(),
        };
        shape.add_strokes(side, normal);
        Some(shape)
    }

    fn add_strokes(&mut self, side: Side<'_>, normal: usize) {
        let (mut deepest, mut pulled) = (self.start.0, true);
        for act in side.acts.iter().filter(|act| act.moves()) {
            let (from, to) = (act.start(normal), act.end(normal));
            if !act.feeds() {
                pulled |= to > from;
                continue;
            }
            let feed = Feed::of(act, side);
            let list = if to < from { &mut self.down } else { &mut self.up };
            match list.last_mut().filter(|(_, last)| last.is(feed)) {
                Some((end, _)) => *end = to,
                None => list.push((to, feed)),
            }
            if to < deepest {
                match self.pecks.last_mut().filter(|_| !pulled) {
                    Some(peck) => *peck += deepest - to,
                    None => self.pecks.push(deepest - to),
                }
                (deepest, pulled) = (to, false);
            }
        }
    }

    fn deepest_peck(&self) -> f64 {
        self.pecks.iter().copied().fold(0.0, f64::max)
    }
}

/// All differences of two holes.
pub(super) fn differences(old: Side<'_>, new: Side<'_>) -> Vec<Difference> {
    let (Some(before), Some(after)) = (Shape::of(old), Shape::of(new)) else { return Vec::new() };
    let height = |(value, _): Height| Value::At(before.axis, value);
    let mut found = Vec::new();
    for (aspect, old, new) in [
        (Aspect::Depth, Some(before.bottom), Some(after.bottom)),
        (Aspect::Approach, Some(before.start), Some(after.start)),
        (Aspect::Retract, before.clear, after.clear),
    ] {
        if old.map(|(height, _)| position(height)) != new.map(|(height, _)| position(height)) {
            let told = Difference::new(aspect, old.map(height), new.map(height));
            found.push(told.at(old.map(|(_, at)| at), new.map(|(_, at)| at)));
        }
    }
    if before.pecks.len().max(after.pecks.len()) > 1 {
        let count = |shape: &Shape| Value::number(shape.pecks.len() as f64, "");
        if before.pecks.len() != after.pecks.len() {
            found.push(Difference::new(Aspect::Pecks, Some(count(&before)), Some(count(&after))));
        }
        let (old, new) = (before.deepest_peck(), after.deepest_peck());
        if position(old) != position(new) {
            let depth = |depth: f64| Some(Value::number(depth, "mm"));
            found.push(Difference::new(Aspect::PeckDepth, depth(old), depth(new)));
        }
    }
    let moved = !found.is_empty();
    found.extend(feeds(&before.down, &after.down, before.axis));
    found.extend(feeds_out(&before.up, &after.up));
    if !moved && found.is_empty() {
        found.extend(path::differences(super::passage::Kind::Hole, old, new));
    }
    found
}

/// Differences of feeds on the way down: entry, exit, and where the exit feed begins.
fn feeds(old: &[(f64, Feed)], new: &[(f64, Feed)], axis: char) -> Vec<Difference> {
    let mut found = Vec::new();
    let (Some((_, first)), Some((_, last))) = (old.first(), old.last()) else { return found };
    let (Some((_, new_first)), Some((_, new_last))) = (new.first(), new.last()) else { return found };
    let mut differ = |aspect, old: Feed, new: Feed| {
        if !old.is(new) {
            found.push(Difference::new(aspect, Some(old.value()), Some(new.value())).at(old.word, new.word));
        }
    };
    let staged = old.len().max(new.len()) > 1;
    if !staged {
        differ(Aspect::Feed, *first, *new_first);
        return found;
    }
    differ(Aspect::EntryFeed, *first, *new_first);
    differ(Aspect::ExitFeed, *last, *new_last);
    let from = |list: &[(f64, Feed)]| list.len().checked_sub(2).and_then(|at| list.get(at)).map(|(end, _)| *end);
    let (from_old, from_new) = (from(old), from(new));
    if from_old.map(position) != from_new.map(position) {
        let height = |value: f64| Value::At(axis, value);
        found.push(Difference::new(Aspect::ExitStart, from_old.map(height), from_new.map(height)));
    }
    let same = old.len() == new.len()
        && old
            .iter()
            .zip(new)
            .all(|((end, feed), (new_end, new_feed))| feed.is(*new_feed) && position(*end) == position(*new_end));
    if found.is_empty() && !same && inner(old, new) {
        found.push(Difference::new(Aspect::Feeds, Some(list(old)), Some(list(new))));
    }
    found
}

/// Whether two courses of feed differ before their last ends, which are the depth's matter.
fn inner(old: &[(f64, Feed)], new: &[(f64, Feed)]) -> bool {
    let alike = |((end, feed), (new_end, new_feed)): (&(f64, Feed), &(f64, Feed))| {
        feed.is(*new_feed) && position(*end) == position(*new_end)
    };
    let most = old.len().min(new.len()).saturating_sub(1);
    old.len() != new.len() || !old.iter().zip(new).take(most).all(alike)
}

/// Differences on the way up.
fn feeds_out(old: &[(f64, Feed)], new: &[(f64, Feed)]) -> Option<Difference> {
    let alike = old.len() == new.len() && old.iter().zip(new).all(|((_, old), (_, new))| old.is(*new));
    (!alike).then(|| {
        let side =
            |feeds: &[(f64, Feed)]| if feeds.is_empty() { Value::Words("rapid".to_owned()) } else { list(feeds) };
        let mut out = Difference::new(Aspect::Feeds, Some(side(old)), Some(side(new)));
        out.note = Some("on the way out".to_owned());
        out
    })
}

fn list(feeds: &[(f64, Feed)]) -> Value {
    match feeds {
        [(_, one)] => one.value(),
        many => Value::Then(many.iter().map(|(_, feed)| feed.value()).collect()),
    }
}
