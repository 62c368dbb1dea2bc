//! Differences of single passages gathered into changes: the same change at many features is one.

use super::act::{Act, At, Word};
use super::change::{
    Affected, Aspect, Change, ChangeClass, FeatureCount, FeatureKind, MOST_FEATURES, Sameness, Spot, Value,
};
use super::explain::{Difference, Side, explain};
use super::pair::Pairing;
use super::passage::{Kind, Passage, PlaceKey};
use super::record::{Record, record};
use super::{Revision, conditions};
use crate::source::LineIndex;
use crate::syntax::{Block, Blocks, Lexis};
use crate::units::UnitSystem;
use std::cell::OnceCell;
use std::collections::{BTreeMap, BTreeSet};

/// Acts of each revision that are looked at in detail; what changed beyond them is told without numbers.
const MOST_ACTS: u64 = 1_000_000;

/// Old and new passage; one of them may be missing.
type Couple = (Option<u32>, Option<u32>);
/// What two passages are told apart by: their digests without the place.
type Form = (Kind, Option<(u64, u64)>, Option<(u64, u64)>, Option<[i64; 2]>);

/// All changes of the machining, gravest class first, and how much is the same.
pub(super) fn machining(
    revisions: [&Revision<'_>; 2],
    records: [&Record; 2],
    pairing: &Pairing,
) -> (Vec<Change>, Sameness) {
    let mut gather = Gather::new(revisions, records);
    let couples = gather.couples(pairing);
    let told = gather.told(&couples);
    for (couple, form) in &couples {
        gather.place(*couple);
        for difference in told.get(form).into_iter().flatten() {
            gather.add(difference.clone(), *couple);
        }
    }
    for (old, new) in &pairing.reordered {
        gather.add(Difference::new(Aspect::Order, None, None), (Some(*old), Some(*new)));
    }
    let same = gather.sameness(pairing);
    (gather.finish(), same)
}

/// What makes two changes one.
type Key = (Aspect, FeatureKind, [Option<String>; 3]);

struct Gather<'a> {
    revisions: [&'a Revision<'a>; 2],
    records: [&'a Record; 2],
    lines: [Lines<'a>; 2],
    units: UnitSystem,
    changes: BTreeMap<Key, (Couple, Change)>,
    affected: BTreeSet<Couple>,
    /// Holes of each revision by place, in order of making.
    drillings: [OnceCell<BTreeMap<PlaceKey, Vec<u32>>>; 2],
}

/// The first of several drillings at one place, and so on.
const ORDINALS: [&str; 4] = ["first", "second", "third", "fourth"];

impl<'a> Gather<'a> {
    fn new(revisions: [&'a Revision<'a>; 2], records: [&'a Record; 2]) -> Self {
        let [_, new] = records;
        Self {
            revisions,
            records,
            lines: revisions.map(Lines::new),
            units: new.units,
            changes: BTreeMap::new(),
            affected: BTreeSet::new(),
            drillings: [OnceCell::new(), OnceCell::new()],
        }
    }

    /// Which of several drillings at its place a hole is that came or went.
    fn which_drilling(&self, aspect: Aspect, (old, new): Couple) -> Option<String> {
        let [before, after] = self.records;
        let [olds, news] = &self.drillings;
        let (index, record, known) = match aspect {
            Aspect::Removed => (old?, before, olds),
            Aspect::Added => (new?, after, news),
            _ => return None,
        };
        let hole = record.passages.get(index as usize).filter(|passage| passage.kind == Kind::Hole)?;
        let here = known.get_or_init(|| drillings(record)).get(&hole.place_key()).filter(|here| here.len() > 1)?;
        let number = here.iter().position(|other| *other == index)?;
        let ordinal = ORDINALS.get(number).map_or_else(|| format!("{}th", number + 1), |word| (*word).to_owned());
        Some(ordinal + " drilling")
    }

    fn passages(&self, (old, new): Couple) -> [Option<&'a Passage>; 2] {
        let [before, after] = self.records;
        let get = |record: &'a Record, at: Option<u32>| record.passages.get(at? as usize);
        [get(before, old), get(after, new)]
    }

    /// Passages that differ or have no partner, with what tells them apart.
    fn couples(&self, pairing: &Pairing) -> Vec<(Couple, Form)> {
        let pairs = pairing.pairs.iter().map(|(old, new)| (Some(*old), Some(*new)));
        let gone = pairing.old_only.iter().map(|old| (Some(*old), None));
        let come = pairing.new_only.iter().map(|new| (None, Some(*new)));
        let couples = pairs.chain(gone).chain(come).filter_map(|couple| {
            let [old, new] = self.passages(couple);
            let digests = |passage: &Passage| (passage.path, passage.manner);
            let kind = new.or(old)?.kind;
            // Two links at one place differ by their words, which stand in their blocks.
            let own = (kind == Kind::Link).then(|| [couple.0, couple.1].map(|at| at.map_or(-1, i64::from)));
            let differs = match (old, new) {
                (Some(old), Some(new)) => !old.is_like(new),
                _ => true,
            };
            differs.then_some((couple, (kind, old.map(digests), new.map(digests), own)))
        });
        couples.collect()
    }

    /// The differences of each form, worked out on one couple of it.
    fn told(&self, couples: &[(Couple, Form)]) -> BTreeMap<Form, Vec<Difference>> {
        let mut examples: BTreeMap<Form, Couple> = BTreeMap::new();
        let mut coarse: BTreeMap<Form, Vec<Difference>> = BTreeMap::new();
        let mut acts = [0; 2];
        for (couple, form) in couples {
            let (_, old, new, _) = form;
            if old == new || examples.contains_key(form) || coarse.contains_key(form) {
                continue;
            }
            let passages = self.passages(*couple);
            let size = passages.map(|passage| passage.map_or(0, |passage| u64::from(passage.acts)));
            let fits = acts.iter().zip(size).all(|(have, more): (&u64, u64)| have + more <= MOST_ACTS);
            if fits {
                acts.iter_mut().zip(size).for_each(|(have, more)| *have += more);
                examples.insert(*form, *couple);
            } else {
                coarse.insert(*form, vec![unmeasured(passages)]);
            }
        }
        let wanted = |side: fn(&Couple) -> Option<u32>| {
            let wanted: BTreeSet<u32> = examples.values().filter_map(side).collect();
            wanted.into_iter().collect::<Vec<_>>()
        };
        let [old, new] = self.revisions;
        let (olds, news) = (wanted(|couple| couple.0), wanted(|couple| couple.1));
        let (before, after) = super::both(|| record(old, &olds), || record(new, &news));
        for (form, (left, right)) in examples {
            let acts = |record: &'_ Record, at: Option<u32>| -> Vec<Act> {
                at.and_then(|at| record.details.get(&at)).cloned().unwrap_or_default()
            };
            let (old_acts, new_acts) = (acts(&before, left), acts(&after, right));
            let old = Side { acts: &old_acts, record: &before, revision: old };
            let new = Side { acts: &new_acts, record: &after, revision: new };
            coarse.insert(form, differences(form.0, (left, right), old, new));
        }
        coarse
    }

    /// Tells of a feature at another place.
    fn place(&mut self, couple: Couple) {
        let [Some(old), Some(new)] = self.passages(couple) else { return };
        let ([x, y], [to_x, to_y]) = (old.place, new.place);
        let shift = [to_x - x, to_y - y];
        // Places in two planes have no shift between them.
        if old.plane == new.plane && shift.iter().any(|way| super::act::position(*way) != 0) {
            let shift = Value::in_plane(new.plane, shift);
            self.add(Difference::new(Aspect::Place, None, Some(shift)), couple);
        }
        if old.attitude != new.attitude {
            let mut turned = Difference::new(Aspect::Place, None, None);
            turned.note = Some("from another direction".to_owned());
            self.add(turned, couple);
        }
    }

    fn add(&mut self, difference: Difference, couple: Couple) {
        let passages = self.passages(couple);
        let Some(kind) = self.kind(passages) else { return };
        self.affected.insert(couple);
        let Difference { aspect, old, new, note, at } = difference;
        let note = note.or_else(|| self.which_drilling(aspect, couple));
        let text = |value: &Option<Value>| value.as_ref().map(|value| value.text(self.units));
        let key = (aspect, kind, [text(&old), text(&new), note.clone()]);
        let full = self.changes.get(&key).is_some_and(|(_, change)| change.features.len() >= MOST_FEATURES);
        let feature = if full { None } else { Some(self.affected(kind, passages)) };
        let [old_block, new_block] =
            if self.changes.contains_key(&key) { [None, None] } else { self.blocks(at, passages) };
        let (first, change) = self.changes.entry(key).or_insert_with(|| {
            let change = Change { aspect, old, new, note, old_block, new_block, count: 0, features: Vec::new() };
            (couple, change)
        });
        *first = (*first).min(couple);
        change.count += 1;
        change.features.extend(feature);
    }

    /// The blocks a change points at; those the feature begins with where nothing better is known.
    fn blocks(&self, at: [Option<Word>; 2], passages: [Option<&Passage>; 2]) -> [Option<(Spot, String)>; 2] {
        let first = |passage: &Passage| (passage.first.source, passage.first.span.start);
        let words = if at == [None; 2] { passages.map(|passage| passage.map(first)) } else { at };
        let [old, new] = words;
        let [old_lines, new_lines] = &self.lines;
        [old.map(|word| old_lines.line(word)), new.map(|word| new_lines.line(word))]
    }

    /// What a feature is, as NEW has it.
    fn kind(&self, passages: [Option<&Passage>; 2]) -> Option<FeatureKind> {
        let [old, new] = passages;
        let [old_revision, new_revision] = self.revisions;
        new.map(|passage| kind(new_revision, passage)).or_else(|| old.map(|passage| kind(old_revision, passage)))
    }

    fn affected(&self, kind: FeatureKind, passages: [Option<&Passage>; 2]) -> Affected {
        let [old, new] = passages;
        let [old_lines, new_lines] = &self.lines;
        let [old_revision, new_revision] = self.revisions;
        let spots =
            [old.map(|passage| old_lines.spot(passage.first)), new.map(|passage| new_lines.spot(passage.first))];
        let named = |revision: &Revision<'_>, passage: Option<&Passage>| {
            Some(revision.names.of(passage?)?.name.to_owned()).filter(|_| kind != FeatureKind::Travel)
        };
        let place = |passage: Option<&Passage>| passage.map(Passage::point).filter(|_| kind != FeatureKind::Travel);
        let by_block = || {
            let spot = spots.iter().rev().flatten().next();
            spot.map(|spot| spot.n.clone().unwrap_or_else(|| format!("line {}", spot.line))).unwrap_or_default()
        };
        let name = named(new_revision, new).or_else(|| named(old_revision, old)).unwrap_or_else(by_block);
        let tool = new.or(old).map_or(0, |passage| passage.tool);
        let (old_place, new_place) = (place(old), place(new));
        let [old, new] = spots;
        Affected { name, kind, tool, old_place, new_place, old, new }
    }

    fn sameness(&self, pairing: &Pairing) -> Sameness {
        let [before, after] = self.records;
        let [old_revision, new_revision] = self.revisions;
        let count = |revision: &Revision<'_>, record: &Record| {
            let mut count = FeatureCount::default();
            record.passages.iter().for_each(|passage| count.add(kind(revision, passage)));
            count
        };
        let moves = |passages: &[Passage]| passages.iter().map(|passage| u64::from(passage.moves)).sum::<u64>();
        let ends = before.passages.len().saturating_sub(pairing.tail);
        let outside = [before.passages.get(..pairing.head), before.passages.get(ends..)];
        let inside = pairing.pairs.iter().filter_map(|(old, new)| {
            let [Some(old), Some(new)] = self.passages((Some(*old), Some(*new))) else { return None };
            old.is_like(new).then_some(u64::from(old.moves))
        });
        let mut affected = FeatureCount::default();
        for couple in &self.affected {
            if let Some(kind) = self.kind(self.passages(*couple)) {
                affected.add(kind);
            }
        }
        Sameness {
            old_moves: moves(&before.passages),
            new_moves: moves(&after.passages),
            same_moves: outside.into_iter().flatten().map(moves).sum::<u64>() + inside.sum::<u64>(),
            old: count(old_revision, before),
            new: count(new_revision, after),
            affected,
        }
    }

    /// Changes by class, then by how many features they concern, then in order of making.
    fn finish(self) -> Vec<Change> {
        let told_of_features: BTreeSet<Aspect> = self
            .changes
            .keys()
            .filter(|(_, kind, _)| *kind != FeatureKind::Travel)
            .map(|(aspect, ..)| *aspect)
            .collect();
        // What is in force on the way to a feature and in it is one change.
        let twice = |(aspect, kind, _): &Key| {
            *kind == FeatureKind::Travel && conditions::is_condition(*aspect) && told_of_features.contains(aspect)
        };
        let mut changes: Vec<(Couple, Change)> =
            self.changes.into_iter().filter(|(key, _)| !twice(key)).map(|(_, change)| change).collect();
        let order = |(first, change): &(Couple, Change)| {
            let class: ChangeClass = change.aspect.class();
            (class, u64::MAX - change.count, first.1.or(first.0), change.aspect)
        };
        changes.sort_by_key(order);
        changes.into_iter().map(|(_, change)| change).collect()
    }
}

/// The holes of a record by place.
fn drillings(record: &Record) -> BTreeMap<PlaceKey, Vec<u32>> {
    let mut drillings: BTreeMap<PlaceKey, Vec<u32>> = BTreeMap::new();
    for (index, hole) in (0..).zip(&record.passages).filter(|(_, passage)| passage.kind == Kind::Hole) {
        drillings.entry(hole.place_key()).or_default().push(index);
    }
    drillings
}

fn kind(revision: &Revision<'_>, passage: &Passage) -> FeatureKind {
    match passage.kind {
        Kind::Hole => FeatureKind::Hole,
        Kind::Cut if revision.names.of(passage).is_some_and(|named| named.hole) => FeatureKind::Hole,
        Kind::Cut => FeatureKind::Cut,
        Kind::Link => FeatureKind::Travel,
    }
}

/// Differences of a couple; a feature without a partner came or went as a whole.
fn differences(kind: Kind, couple: Couple, old: Side<'_>, new: Side<'_>) -> Vec<Difference> {
    match (kind, couple) {
        (Kind::Hole | Kind::Cut, (Some(_), None)) => vec![Difference::new(Aspect::Removed, None, None)],
        (Kind::Hole | Kind::Cut, (None, Some(_))) => vec![Difference::new(Aspect::Added, None, None)],
        _ => explain(kind, old, new),
    }
}

/// What is told of a pair too large to be looked at.
fn unmeasured(passages: [Option<&Passage>; 2]) -> Difference {
    let aspect = match passages {
        [Some(_), Some(_)] => Aspect::Unmeasured,
        [_, None] => Aspect::Removed,
        [None, _] => Aspect::Added,
    };
    let mut told = Difference::new(aspect, None, None);
    if let [Some(old), Some(new)] = passages {
        let what = if old.path == new.path { "feeds, conditions or stops differ" } else { "the way differs" };
        told.note = Some(format!("{what}; too many moves changed to tell them one by one"));
    }
    told
}

/// The block an act comes from, for a person.
pub(super) fn spot(revision: &Revision<'_>, at: At) -> Spot {
    Lines::new(revision).spot(at)
}

/// Line numbers of a revision's sources.
struct Lines<'a> {
    revision: &'a Revision<'a>,
    indexes: Vec<std::sync::OnceLock<LineIndex>>,
}

impl<'a> Lines<'a> {
    fn new(revision: &'a Revision<'a>) -> Self {
        let indexes = revision.programs.sources().iter().map(|_| std::sync::OnceLock::new()).collect();
        Self { revision, indexes }
    }

    fn spot(&self, at: At) -> Spot {
        self.line((at.source, at.span.start)).0
    }

    /// The line a word stands on, and its text.
    fn line(&self, (source, offset): Word) -> (Spot, String) {
        let number = usize::from(source.0);
        let (Some(source), Some(index)) = (self.revision.programs.sources().get(number), self.indexes.get(number))
        else {
            return (Spot::default(), String::new());
        };
        let index = index.get_or_init(|| LineIndex::new(&source.bytes));
        let line = index.position(offset).line;
        let start = index.line_start(line).unwrap_or(0) as usize;
        let end = index.line_start(line + 1).map_or(source.bytes.len(), |end| end as usize);
        let text = source.bytes.get(start..end).unwrap_or_default().trim_ascii();
        let mut block = Block::default();
        Blocks::new(text, 0, Lexis::default()).next(&mut block);
        let n = block.n.map(|n| String::from_utf8_lossy(n.of(text)).into_owned());
        (Spot { file: source.name.clone(), line, n }, String::from_utf8_lossy(text).into_owned())
    }
}
