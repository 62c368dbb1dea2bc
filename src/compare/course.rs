//! A cut as a whole: which way round it runs, and at which level it runs farthest.

use super::act::{Act, position};
use super::change::{Aspect, Value, axis_letter};
use super::explain::Difference;
use std::collections::BTreeMap;

/// Share of its length within which a contour has to come back to its start to run round something; house value.
const CLOSED: f64 = 0.1;

/// What differs; the level only where no height has been told.
pub(super) fn differences(old: &[Act], new: &[Act], heights_told: bool) -> Vec<Difference> {
    let mut found = Vec::new();
    let senses = sense(old).zip(sense(new)).filter(|(before, after)| before != after);
    if let Some((before, after)) = senses {
        let words = |sense: &str| Some(Value::Words(sense.to_owned()));
        found.push(Difference::new(Aspect::Path, words(before), words(after)));
    }
    let levels = level(old).zip(level(new)).filter(|_| !heights_told);
    if let Some(((axis, before), (_, after))) = levels.filter(|((_, a), (_, b))| position(*a) != position(*b)) {
        let mut told = Difference::new(Aspect::Depth, Some(Value::At(axis, before)), Some(Value::At(axis, after)));
        told.note = Some("over most of its length".to_owned());
        found.push(told);
    }
    found
}

/// Which way round a closed contour runs, seen from above: by the sign of twice its area, arcs taken as chords.
fn sense(acts: &[Act]) -> Option<&'static str> {
    let feeding = || acts.iter().filter(|act| act.feeds());
    let (x, y, _) = feeding().next()?.axes();
    let [from_x, from_y] = [x, y].map(|axis| feeding().next().map_or(0.0, |act| act.start(axis)));
    let (mut doubled, mut length, mut end) = (0.0, 0.0, [0.0; 2]);
    for act in feeding() {
        let start = [act.start(x) - from_x, act.start(y) - from_y];
        end = [act.end(x) - from_x, act.end(y) - from_y];
        doubled += start[0] * end[1] - end[0] * start[1];
        length += libm::hypot(end[0] - start[0], end[1] - start[1]);
    }
    let closed = length > 0.0 && libm::hypot(end[0], end[1]) <= CLOSED * length;
    closed.then_some(if doubled < 0.0 { "clockwise" } else { "counterclockwise" })
}

/// The axis of depth and the level at which most of the way is fed.
fn level(acts: &[Act]) -> Option<(char, f64)> {
    let mut levels: BTreeMap<i64, (f64, f64)> = BTreeMap::new();
    let (x, y, normal) = acts.iter().find(|act| act.feeds())?.axes();
    for act in acts.iter().filter(|act| act.feeds()) {
        let length = libm::hypot(act.end(x) - act.start(x), act.end(y) - act.start(y));
        levels.entry(position(act.end(normal))).or_insert((act.end(normal), 0.0)).1 += length;
    }
    let longest = levels.into_values().max_by(|one, other| one.1.total_cmp(&other.1))?;
    Some((axis_letter(normal), longest.0))
}
