//! Differences of what is in force: tool, speed, spindle, offsets, coolant and the like.

use super::act::{Act, Conditions, Event, What, Word};
use super::change::{Aspect, Value};
use super::explain::{Difference, Side, hunks, kept};
use super::passage::Kind;
use crate::motion::{CutterSide, FeedMode, PathMode, SpindleSense, work_offset_code};
use std::hash::{DefaultHasher, Hasher};

/// Everything that is held against each other.
const ASPECTS: [Aspect; 12] = [
    Aspect::Tool,
    Aspect::Speed,
    Aspect::SpeedMode,
    Aspect::SpindleSense,
    Aspect::LengthOffset,
    Aspect::CutterCompensation,
    Aspect::WorkOffset,
    Aspect::FeedMode,
    Aspect::PathMode,
    Aspect::Mist,
    Aspect::Flood,
    Aspect::Overrides,
];

/// Whether an aspect is one of conditions, which hold over many passages.
pub(super) fn is_condition(aspect: Aspect) -> bool {
    ASPECTS.contains(&aspect) || aspect == Aspect::Extraction
}

/// All differences. In a feature each aspect has one: by the values that hold while the tool feeds, else by those on the
/// way. Between features, acts that both have are held against each other: others come and go with their own conditions.
pub(super) fn differences(kind: Kind, old: Side<'_>, new: Side<'_>) -> Vec<Difference> {
    let aspects = ASPECTS.into_iter().chain([Aspect::Extraction]);
    if kind != Kind::Link {
        return aspects.filter_map(|aspect| difference(aspect, old, new)).collect();
    }
    let mut found: Vec<Difference> = Vec::new();
    let counts = |(act, _): &(&Act, &Act)| !matches!(act.what, What::Event(Event::Words(_)));
    for (old_act, new_act) in shared(old.acts, new.acts).into_iter().filter(counts) {
        let (Some(before), Some(after)) = (old.conditions(old_act), new.conditions(new_act)) else { continue };
        for aspect in aspects.clone().filter(|aspect| *aspect != Aspect::FeedMode) {
            let (before, after) = (value(aspect, before), value(aspect, after));
            let known = |told: &Difference| (told.old.as_ref(), told.new.as_ref()) == (Some(&before), Some(&after));
            if before != after && !found.iter().any(known) {
                let (old_word, new_word) = (old.stated(old_act, aspect), new.stated(new_act, aspect));
                found.push(Difference::new(aspect, Some(before), Some(after)).at(old_word, new_word));
            }
        }
    }
    found
}

/// Acts that do the same in both, side by side.
fn shared<'a>(old: &'a [Act], new: &'a [Act]) -> Vec<(&'a Act, &'a Act)> {
    let key = |act: &Act| {
        let mut hasher = DefaultHasher::new();
        act.hash_path([0.0; 2], &mut hasher);
        act.hash_event(&mut hasher);
        hasher.finish()
    };
    let keys = |acts: &[Act]| acts.iter().map(key).collect::<Vec<_>>();
    let changed = hunks(&keys(old), &keys(new));
    kept(&changed, old, new).collect()
}

fn difference(aspect: Aspect, old: Side<'_>, new: Side<'_>) -> Option<Difference> {
    let feeding = [runs(aspect, old, Act::feeds), runs(aspect, new, Act::feeds)];
    let all = || [runs(aspect, old, |_| true), runs(aspect, new, |_| true)];
    let values = |runs: &[Run]| runs.iter().map(|(value, _)| value.clone()).collect::<Vec<_>>();
    let on_the_way = values(&feeding[0]) == values(&feeding[1]) && aspect != Aspect::FeedMode;
    let [before, after] = if on_the_way { all() } else { feeding };
    let first = before.iter().zip(&after).position(|((old, _), (new, _))| old != new);
    if first.is_none() && before.len() == after.len() {
        return None;
    }
    let at = |runs: &[Run]| first.and_then(|first| runs.get(first)).or(runs.last()).and_then(|(_, word)| *word);
    let told = Difference::new(aspect, Some(one(values(&before))), Some(one(values(&after))));
    Some(told.at(at(&before), at(&after)))
}

/// A value in force, and the word that stated it.
type Run = (Value, Option<Word>);

/// Values in force over the acts that count, each run of equal ones once.
fn runs(aspect: Aspect, side: Side<'_>, counts: impl Fn(&Act) -> bool) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for act in side.acts.iter().filter(|act| counts(act)) {
        let Some(conditions) = side.conditions(act) else { continue };
        let value = value(aspect, conditions);
        if runs.last().is_none_or(|(last, _)| *last != value) {
            runs.push((value, side.stated(act, aspect)));
        }
    }
    runs
}

fn one(mut values: Vec<Value>) -> Value {
    match values.pop() {
        Some(value) if values.is_empty() => value,
        Some(value) => {
            values.push(value);
            Value::Then(values)
        }
        None => Value::Words("none".to_owned()),
    }
}

fn value(aspect: Aspect, conditions: &Conditions) -> Value {
    let switch = |on: bool| if on { "on" } else { "off" }.to_owned();
    let words = match aspect {
        Aspect::Tool => format!("T{}", conditions.tool),
        Aspect::Speed => match conditions.speed {
            Some(speed) if conditions.surface => return Value::number(speed, "m/min"),
            Some(speed) => return Value::number(speed, "rev/min"),
            None => "not known".to_owned(),
        },
        Aspect::SpeedMode => if conditions.surface { "G96" } else { "G97" }.to_owned(),
        Aspect::SpindleSense => match conditions.sense {
            SpindleSense::Stopped => "stopped",
            SpindleSense::Clockwise => "clockwise",
            SpindleSense::Counterclockwise => "counterclockwise",
        }
        .to_owned(),
        Aspect::LengthOffset => conditions.length.map_or("off".to_owned(), |h| format!("H{h}")),
        Aspect::CutterCompensation => {
            let (side, d) = conditions.cutter;
            let d = d.map_or(String::new(), |d| format!(" D{d}"));
            match side {
                CutterSide::Off => "off".to_owned(),
                CutterSide::Left => format!("G41{d}"),
                CutterSide::Right => format!("G42{d}"),
            }
        }
        Aspect::WorkOffset => work_offset_code(conditions.work_offset),
        Aspect::FeedMode => match conditions.feed_mode {
            FeedMode::InverseTime => "G93",
            FeedMode::PerMinute => "G94",
            FeedMode::PerRev => "G95",
        }
        .to_owned(),
        Aspect::PathMode => match conditions.path {
            PathMode::ExactPath => "G61",
            PathMode::ExactStop => "G61.1",
            PathMode::Continuous => "G64",
        }
        .to_owned(),
        Aspect::Mist => switch(conditions.mist),
        Aspect::Flood => switch(conditions.flood),
        Aspect::Overrides => if conditions.overrides { "allowed" } else { "locked" }.to_owned(),
        _ => conditions.extraction.map_or("not stated".to_owned(), switch),
    };
    Value::Words(words)
}
