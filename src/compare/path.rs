//! Differences of two ways: cuts by their contour and feeds, links by their moves.

use super::act::{Act, What, feed as on_grid, position};
use super::change::{Aspect, Value, axis_letter};
use super::course;
use super::explain::{Difference, Side, hunks};
use super::passage::Kind;
use crate::units::counted;
use std::collections::BTreeMap;
use std::hash::{DefaultHasher, Hasher};

/// A move before and after with another feed, and how many have the same two feeds.
type Refed = (Act, Act, u64);

/// Feeds told of one cut; more are summed up.
const MOST_FEEDS: usize = 4;

/// All differences.
pub(super) fn differences(kind: Kind, old: Side<'_>, new: Side<'_>) -> Vec<Difference> {
    let mut found = Vec::new();
    if kind == Kind::Cut {
        found.extend(heights(old, new));
    }
    let heights_told = !found.is_empty();
    found.extend(way(kind, old.acts, new.acts, heights_told));
    // Numbers of moves alone would hide that a contour is run the other way round, or at another level.
    if kind == Kind::Cut {
        found.extend(course::differences(old.acts, new.acts, heights_told));
    }
    if kind == Kind::Cut {
        found.extend(feeds(old.acts, new.acts));
    }
    found
}

/// Depth of a cut, where it starts, and where the tool is left.
fn heights(old: Side<'_>, new: Side<'_>) -> Vec<Difference> {
    let (Some(before), Some(after)) = (Heights::of(old.acts), Heights::of(new.acts)) else { return Vec::new() };
    let told = [
        (Aspect::Depth, Some(before.lowest), Some(after.lowest)),
        (Aspect::Approach, Some(before.start), Some(after.start)),
        (Aspect::Retract, before.clear, after.clear),
    ];
    let differ = |(_, old, new): &(Aspect, Option<f64>, Option<f64>)| old.map(position) != new.map(position);
    let value = |height: Option<f64>| height.map(|height| Value::At(before.axis, height));
    told.into_iter().filter(differ).map(|(aspect, old, new)| Difference::new(aspect, value(old), value(new))).collect()
}

struct Heights {
    axis: char,
    lowest: f64,
    start: f64,
    clear: Option<f64>,
}

impl Heights {
    fn of(acts: &[Act]) -> Option<Self> {
        let first = acts.iter().find(|act| act.feeds())?;
        let (_, _, normal) = first.axes();
        let start = first.start(normal);
        let feeding = acts.iter().filter(|act| act.feeds());
        Some(Self {
            axis: axis_letter(normal),
            lowest: feeding.map(|act| act.end(normal)).fold(start, f64::min),
            start,
            clear: acts.last().filter(|act| act.what == What::Rapid).map(|act| act.end(normal)),
        })
    }
}

/// Moves that go elsewhere. With `heights_told`, a way that differs in height alone has been told already.
fn way(kind: Kind, old: &[Act], new: &[Act], heights_told: bool) -> Option<Difference> {
    let moving = |acts: &'_ [Act]| acts.iter().filter(|act| act.moves()).copied().collect::<Vec<_>>();
    let (old, new) = (moving(old), moving(new));
    let keys = |acts: &[Act], level: bool| {
        let place = acts.iter().find(|act| act.feeds()).filter(|_| kind != Kind::Link).map_or([0.0; 2], Act::origin);
        acts.iter().map(|act| key(act, place, level)).collect::<Vec<_>>()
    };
    let mut found = hunks(&keys(&old, false), &keys(&new, false));
    if heights_told && found.iter().all(|hunk| hunk.before.len() == hunk.after.len()) {
        found = hunks(&keys(&old, true), &keys(&new, true));
    }
    let first = found.first()?;
    let count = |range: fn(&imara_diff::Hunk) -> usize| found.iter().map(range).sum::<usize>() as u64;
    let (gone, come) = (count(|hunk| hunk.before.len()), count(|hunk| hunk.after.len()));
    let aspect = if kind == Kind::Link { Aspect::Travel } else { Aspect::Path };
    let at = |acts: &[Act], index: u32| acts.get(index as usize).copied();
    if gone == come {
        let pair = at(&old, first.before.start).zip(at(&new, first.after.start));
        let (before, after) = pair.map(|(old, new)| points(&old, &new)).unzip();
        let (old_block, new_block) = pair.map(|(old, new)| (old.block(), new.block())).unzip();
        let mut told = Difference::new(aspect, before, after).at(old_block, new_block);
        let total = counted(old.len() as u64, "move");
        told.note = (old.len() > 1).then(|| format!("{gone} of {total}; the first is shown"));
        if gone == 1 {
            told.note = (old.len() > 1).then(|| format!("1 of {total}"));
        }
        return Some(told);
    }
    let moves = |acts: &[Act]| (!acts.is_empty()).then(|| Value::Words(counted(acts.len() as u64, "move")));
    let mut told = Difference::new(aspect, moves(&old), moves(&new));
    let both = !old.is_empty() && !new.is_empty();
    told.note = both.then(|| format!("{} gone, {come} new", counted(gone, "move")));
    Some(told)
}

fn key(act: &Act, place: [f64; 2], level: bool) -> u64 {
    let mut hasher = DefaultHasher::new();
    let (_, _, normal) = act.axes();
    let mut act = *act;
    for end in [&mut act.to, &mut act.from] {
        if let Some(height) = end.get_mut(normal).filter(|_| level) {
            *height = 0.0;
        }
    }
    act.hash_path(place, &mut hasher);
    hasher.finish()
}

/// The end of a move before and after: the height where only that differs, else the place.
fn points(old: &Act, new: &Act) -> (Value, Value) {
    let (_, _, normal) = old.axes();
    let same_place = old.plane == new.plane && old.target().map(position) == new.target().map(position);
    if same_place && position(old.end(normal)) != position(new.end(normal)) {
        let height = |act: &Act| Value::At(axis_letter(normal), act.end(normal));
        return (height(old), height(new));
    }
    match (old.what, new.what) {
        (What::Arc(before, _), What::Arc(after, _)) if same_place => {
            let centre = |[x, y]: [f64; 2]| {
                Value::Then(vec![
                    Value::in_plane(old.plane, old.target()),
                    Value::Words(format!("centre {} {}", crate::units::trimmed(x, 3), crate::units::trimmed(y, 3))),
                ])
            };
            (centre(before), centre(after))
        }
        (What::Rapid | What::Line | What::Arc(..) | What::Event(_), _) => {
            let told = |act: &Act| {
                let point = Value::in_plane(act.plane, act.target());
                if same_place { Value::Then(vec![Value::Words(kind(act).to_owned()), point]) } else { point }
            };
            (told(old), told(new))
        }
    }
}

fn kind(act: &Act) -> &'static str {
    match act.what {
        What::Rapid => "rapid",
        What::Line => "line",
        What::Arc(_, sweep) if sweep < 0.0 => "arc clockwise",
        What::Arc(..) => "arc counterclockwise",
        What::Event(_) => "stop",
    }
}

/// Feeds of a cut: move by move where both have as many, else each run of equal feeds.
fn feeds(old: &[Act], new: &[Act]) -> Vec<Difference> {
    let feeding = |acts: &[Act]| acts.iter().filter(|act| act.feeds()).copied().collect::<Vec<_>>();
    let (old, new) = (feeding(old), feeding(new));
    let list = |acts: &[Act]| acts.iter().map(|act| act.feed).collect::<Vec<_>>();
    let (old_runs, new_runs) = (runs(&list(&old)), runs(&list(&new)));
    let summed_up = || Difference::new(Aspect::Feeds, Some(several(&old_runs)), Some(several(&new_runs)));
    if old.len() != new.len() {
        let same = old_runs.iter().map(|feed| on_grid(*feed)).eq(new_runs.iter().map(|feed| on_grid(*feed)));
        return if same { Vec::new() } else { vec![summed_up()] };
    }
    let mut pairs: BTreeMap<(Option<i64>, Option<i64>), Refed> = BTreeMap::new();
    for (old, new) in old.iter().zip(&new).filter(|(old, new)| on_grid(old.feed) != on_grid(new.feed)) {
        pairs.entry((on_grid(old.feed), on_grid(new.feed))).or_insert((*old, *new, 0)).2 += 1;
    }
    let total = old.len() as u64;
    if pairs.len() > MOST_FEEDS {
        let moves: u64 = pairs.values().map(|(_, _, count)| count).sum();
        let mut told = summed_up();
        told.note = Some(format!("{moves} of {}", counted(total, "feed move")));
        return vec![told];
    }
    let told = |(old, new, count): &Refed| {
        let mut told = Difference::new(Aspect::Feed, Some(value(old.feed)), Some(value(new.feed)));
        told.note = (*count < total).then(|| format!("{count} of {}", counted(total, "feed move")));
        told.at(old.feed_word, new.feed_word)
    };
    pairs.values().map(told).collect()
}

fn runs(feeds: &[Option<f64>]) -> Vec<Option<f64>> {
    feeds.chunk_by(|a, b| on_grid(*a) == on_grid(*b)).filter_map(|run| run.first().copied()).collect()
}

fn several(feeds: &[Option<f64>]) -> Value {
    match feeds {
        [one] => value(*one),
        many if many.len() > MOST_FEEDS => Value::Words(counted(many.len() as u64, "run") + " of equal feed"),
        many => Value::Then(many.iter().map(|feed| value(*feed)).collect()),
    }
}

fn value(feed: Option<f64>) -> Value {
    feed.map_or_else(|| Value::Words("not known".to_owned()), |feed| Value::number(feed, "mm/min"))
}

/// Whether two sides are the same but for the noise of arithmetic.
pub(super) fn are_near(before: Side<'_>, after: Side<'_>) -> bool {
    let near = |a: f64, b: f64| (position(a) - position(b)).abs() <= 1;
    let points = |a: &[f64; 3], b: &[f64; 3]| a.iter().zip(b).all(|(a, b)| near(*a, *b));
    let alike = |(old, new): (&Act, &Act)| {
        let what = match (old.what, new.what) {
            (What::Arc([x, y], sweep), What::Arc([new_x, new_y], new_sweep)) => {
                near(x, new_x) && near(y, new_y) && near(sweep, new_sweep)
            }
            (old, new) => old == new,
        };
        let feeds = match (on_grid(old.feed), on_grid(new.feed)) {
            (Some(old), Some(new)) => (old - new).abs() <= 1,
            (old, new) => old == new,
        };
        let conditions = before.record.book.digest(old) == after.record.book.digest(new);
        what && feeds && conditions && old.known == new.known && points(&old.to, &new.to) && points(&old.abc, &new.abc)
    };
    before.acts.len() == after.acts.len() && before.acts.iter().zip(after.acts).all(alike)
}
