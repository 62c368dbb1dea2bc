//! Two revisions held against each other, for people: what changed in the machining first, then by class.

use super::look::Look;
use super::names::compressed;
use super::verdict::Tally;
use super::{CAUTION, counted};
use crate::check::Report;
use crate::compare::{
    Aspect, Change, ChangeClass, Changes, Fate, FeatureCount, FeatureKind, FindingChange, LineChange, Spot,
    TextChanges, Value,
};
use crate::units::UnitSystem;
use schemars::JsonSchema;
use serde::Serialize;
use std::collections::BTreeSet;

/// Changes named in the first line; the rest are counted.
const IN_HEADLINE: usize = 3;
/// Comments and blocks printed of each list; JSON has more.
const LINES_SHOWN: usize = 20;
/// Said wherever features are named.
const DECISION: &str = "The shop decides which of them are inspected anew.";

/// Everything a comparison is told from.
#[derive(Clone, Copy, Debug)]
pub struct Comparison<'a> {
    /// Report on OLD.
    pub old: &'a Report,
    /// Report on NEW.
    pub new: &'a Report,
    /// What differs.
    pub changes: &'a Changes,
    /// What became of the findings.
    pub findings: &'a [FindingChange],
}

/// Both answers, and the exit code they come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
pub struct CompareVerdict {
    /// The machining changed.
    pub changed: bool,
    /// Some block could not be followed, so that more may have changed.
    pub inconclusive: bool,
}

impl CompareVerdict {
    /// The verdict on a comparison.
    #[must_use]
    pub fn of(changes: &Changes) -> Self {
        Self { changed: !changes.is_identical_in_motion(), inconclusive: !changes.open.is_empty() }
    }

    /// Exit code: 1 changed, 3 not concluded, 0 identical in motion. A change outranks what is missing.
    #[must_use]
    pub fn exit(self) -> u8 {
        match (self.changed, self.inconclusive) {
            (true, _) => 1,
            (false, true) => 3,
            (false, false) => 0,
        }
    }
}

/// The whole comparison as text.
#[must_use]
pub fn comparison(compared: &Comparison<'_>, look: &Look) -> String {
    let changes = compared.changes;
    let mut text = look.wrapped("", "  ", &headline(changes));
    text.push_str(&look.led("old", &side(compared.old)));
    text.push_str(&look.led("new", &side(compared.new)));
    text.push('\n');
    for reason in &changes.open {
        text.push_str(&look.wrapped("? ", "  ", &format!("not concluded: {reason}; more may have changed there")));
    }
    for class in [ChangeClass::Safety, ChangeClass::Geometry, ChangeClass::Process, ChangeClass::Sequence] {
        let of_class: Vec<&Change> = changes.machining.iter().filter(|one| one.aspect.class() == class).collect();
        if of_class.is_empty() {
            continue;
        }
        text.push_str(&look.paint(look.blue(), class.word()));
        text.push('\n');
        of_class.iter().for_each(|one| text.push_str(&change(one, changes.units, look)));
        text.push('\n');
    }
    text.push_str(&words(changes, look));
    text.push_str(&findings(compared, look));
    text.push_str(&foot(compared, look));
    text
}

/// What changed in the machining, in one line.
#[must_use]
pub fn headline(changes: &Changes) -> String {
    let same = &changes.same;
    if changes.is_identical_in_motion() {
        let kept = super::grouped(same.same_moves);
        let moves = counted(same.new_moves, "move");
        let text = format!("identical in motion: {kept} of {moves} the same{}", in_text(&changes.text));
        return if changes.open.is_empty() { text } else { format!("not concluded; as far as could be read {text}") };
    }
    let mut parts: Vec<String> = Vec::new();
    let mut before: Option<&Change> = None;
    for one in changes.machining.iter().take(IN_HEADLINE) {
        let told = sentence(one, changes.units);
        let same_features = before.is_some_and(|other| other.count == one.count && other.features == one.features);
        match parts.last_mut().filter(|_| same_features) {
            Some(part) => part.push_str(&format!(", {told}")),
            None => parts.push(format!("{}: {told}", subject(one))),
        }
        before = Some(one);
    }
    match changes.machining.len().saturating_sub(IN_HEADLINE) as u64 {
        0 => parts.push("nothing else in the machining changes".to_owned()),
        more => parts.push(counted(more, "more change")),
    }
    parts.join("; ")
}

/// What changed in the text alone, as the end of the first line.
fn in_text(found: &TextChanges) -> String {
    let counts = [
        (found.renumbered, "block renumbered", "blocks renumbered"),
        (found.reformatted, "block in another form", "blocks in another form"),
        (found.blocks.len() as u64 + found.more_blocks, "block changed", "blocks changed"),
        (found.comments.len() as u64 + found.more_comments, "comment changed", "comments changed"),
    ];
    let told = counts.into_iter().filter(|(count, ..)| *count > 0);
    let told =
        told.map(|(count, one, many)| format!("{} {}", super::grouped(count), if count == 1 { one } else { many }));
    let told: Vec<String> = told.collect();
    if told.is_empty() { String::new() } else { format!("; in the text {}", told.join(", ")) }
}

/// Whom a change concerns: one feature by name, several by number.
fn subject(change: &Change) -> String {
    match (change.count, change.features.as_slice(), kind(change)) {
        (1, [one], FeatureKind::Travel) => {
            let block = change.new_block.as_ref().or(change.old_block.as_ref()).map(|(block, _)| block);
            let block = block.or(one.new.as_ref()).or(one.old.as_ref());
            format!("at {}", block.map_or_else(|| one.name.clone(), spot))
        }
        // An offset H12 may stand beside a hole H12.
        (1, [one], FeatureKind::Hole) => format!("hole {}", one.name),
        (1, [one], FeatureKind::Cut) => one.name.clone(),
        (count, _, kind) => number_of(count, kind),
    }
}

fn kind(change: &Change) -> FeatureKind {
    change.features.first().map_or(FeatureKind::Travel, |feature| feature.kind)
}

fn number_of(count: u64, kind: FeatureKind) -> String {
    match kind {
        FeatureKind::Hole => counted(count, "hole"),
        FeatureKind::Cut => counted(count, "cut"),
        FeatureKind::Travel => counted(count, "place") + " between features",
    }
}

/// What changed, without whom it concerns.
pub(super) fn sentence(change: &Change, units: UnitSystem) -> String {
    let words = change.aspect.words();
    let said = |value: &Value| value.text(units);
    let mut text = match (change.aspect, &change.old, &change.new) {
        (Aspect::Place, _, Some(shift)) => format!("moved by {}", said(shift)),
        (Aspect::Order, ..) => "made in another order".to_owned(),
        (Aspect::Words, Some(old), None) => format!("{} removed", said(old)),
        (Aspect::Words, None, Some(new)) => format!("{} added", said(new)),
        (Aspect::Added | Aspect::Removed, ..) if change.note.is_some() => {
            return format!("{} {words}", change.note.as_deref().unwrap_or_default());
        }
        (aspect, Some(old), None) if is_event(aspect) => format!("{words} {} removed", said(old)),
        (aspect, None, Some(new)) if is_event(aspect) => format!("{words} {} added", said(new)),
        (Aspect::ExitStart, None, Some(new)) => format!("exit feed begins at {}", said(new)),
        (Aspect::ExitStart, Some(old), None) => format!("no exit feed of its own, it began at {}", said(old)),
        (Aspect::Travel, Some(old), None) => format!("travel removed: {}", said(old)),
        (Aspect::Travel, None, Some(new)) => format!("travel added: {}", said(new)),
        (_, None, None) => words.to_owned(),
        (_, old, new) => {
            let side = |value: &Option<Value>| value.as_ref().map_or("none".to_owned(), said);
            format!("{words} {} -> {}", side(old), side(new))
        }
    };
    if let Some(note) = &change.note {
        text.push_str(&format!(" ({note})"));
    }
    text
}

/// Whether an aspect is a thing that stands in the program or does not.
fn is_event(aspect: Aspect) -> bool {
    matches!(aspect, Aspect::Stop | Aspect::ToolChange | Aspect::Dwell)
}

/// One change with the features it concerns.
fn change(change: &Change, units: UnitSystem, look: &Look) -> String {
    let mut text = look.wrapped("  ", "    ", &format!("{}: {}", subject(change), sentence(change, units)));
    let names: Vec<String> = change.features.iter().map(|feature| feature.name.clone()).collect();
    let more = change.count.saturating_sub(names.len() as u64);
    if change.count > 1 {
        let lead = match kind(change) {
            FeatureKind::Hole => "holes",
            FeatureKind::Cut => "cuts",
            FeatureKind::Travel => "at",
        };
        let rest = if more > 0 { format!(" and {} more", super::grouped(more)) } else { String::new() };
        text.push_str(&look.led(lead, &format!("{}{rest}", compressed(&names))));
    }
    let Some(first) = change.features.first() else { return text };
    if let (Aspect::Place, Some(old), Some(new)) = (change.aspect, &first.old_place, &first.new_place) {
        let which = if change.count > 1 { format!("{} ", first.name) } else { String::new() };
        text.push_str(&look.led("from", &format!("{which}{} to {}", old.text(units), new.text(units))));
    }
    for (lead, block) in [("old", &change.old_block), ("new", &change.new_block)] {
        if let Some((spot, block)) = block {
            text.push_str(&look.led(lead, &format!("line {}: {block}", super::grouped(u64::from(spot.line)))));
        }
    }
    text
}

fn spot(spot: &Spot) -> String {
    let n = spot.n.as_ref().map(|n| format!(" {n}")).unwrap_or_default();
    format!("line {}{n}", super::grouped(u64::from(spot.line)))
}

/// One revision: its file, what judged it.
fn side(report: &Report) -> String {
    let program = report.sources.first().map_or("", |source| source.name.as_str());
    match &report.job_name {
        Some(job) => format!("{program}, read and judged by {job}"),
        None => format!("{program}, read without a job file"),
    }
}

/// What differs in the text alone.
fn words(changes: &Changes, look: &Look) -> String {
    let found = &changes.text;
    let mut lines: Vec<String> = Vec::new();
    if found.renumbered > 0 {
        lines.push(format!("{} with another number", counted(found.renumbered, "block")));
    }
    if found.reformatted > 0 {
        lines.push(format!("{} with the same words in another form", counted(found.reformatted, "block")));
    }
    if let Some((old, new)) = found.line_ends {
        lines.push(format!("line ends {old} -> {new}"));
    }
    let other = found.blocks.len() as u64 + found.more_blocks;
    let silent = changes.is_identical_in_motion();
    if other > 0 {
        let effect = if silent { ", without effect on the machining" } else { "" };
        lines.push(format!("{} changed{effect}", counted(other, "block")));
    }
    let mut text: String = lines.iter().map(|line| look.wrapped("  ", "    ", line)).collect();
    if silent {
        text.push_str(&listed("words", &found.blocks, found.more_blocks, look));
    }
    text.push_str(&listed("comment", &found.comments, found.more_comments, look));
    if text.is_empty() {
        return text;
    }
    format!("{}\n{text}\n", look.paint(look.blue(), ChangeClass::Text.word()))
}

/// Lines of one list, the first of them.
fn listed(what: &str, list: &[LineChange], more: u64, look: &Look) -> String {
    let mut text = String::new();
    for one in list.iter().take(LINES_SHOWN) {
        let told = match (&one.old, &one.new) {
            (Some((old, before)), Some((new, after))) if old.line == new.line => {
                format!("{}: {before} -> {after}", spot(new))
            }
            (Some((old, before)), Some((new, after))) => format!("{} -> {}: {before} -> {after}", spot(old), spot(new)),
            (Some((old, before)), None) => format!("{} of old removed: {before}", spot(old)),
            (None, Some((new, after))) => format!("{} of new added: {after}", spot(new)),
            (None, None) => continue,
        };
        text.push_str(&look.wrapped("  ", "    ", &format!("{what} {told}")));
    }
    let more = more + list.len().saturating_sub(LINES_SHOWN) as u64;
    if more > 0 {
        text.push_str(&look.wrapped("  ", "    ", &format!("and {}", counted(more, &format!("more {what} line")))));
    }
    text
}

/// What became of the findings: new, changed and resolved ones by message, unchanged ones by name.
fn findings(compared: &Comparison<'_>, look: &Look) -> String {
    let list = &compared.findings;
    let waived = Tally::of(compared.new).waived;
    let kept_waived = (waived > 0).then(|| format!("{waived} under a waiver in the new revision"));
    if list.is_empty() && kept_waived.is_none() {
        return String::new();
    }
    let count = |fate: Fate| list.iter().filter(|one| one.fate == fate).count();
    let counts =
        [(Fate::New, "new"), (Fate::Changed, "changed"), (Fate::Resolved, "resolved"), (Fate::Unchanged, "unchanged")];
    let mut counts: Vec<String> = counts.into_iter().map(|(fate, word)| format!("{} {word}", count(fate))).collect();
    if count(Fate::Waived) > 0 {
        counts.push(format!("{} waived now", count(Fate::Waived)));
    }
    counts.extend(kept_waived);
    let mut text = look.paint(look.blue(), "findings");
    text.push('\n');
    text.push_str(&look.wrapped("  ", "    ", &counts.join(", ")));
    for one in list.iter().filter(|one| one.fate != Fate::Unchanged) {
        let side = |side: &Option<(String, u64)>| {
            side.as_ref().map(|(message, places)| format!("{message} ({})", counted(*places, "place")))
        };
        let told = match (side(&one.old), side(&one.new)) {
            (Some(old), Some(new)) => format!("{old} -> {new}"),
            (old, new) => new.or(old).unwrap_or_default(),
        };
        let fate = match one.fate {
            Fate::New => "new",
            Fate::Changed => "changed",
            Fate::Resolved => "resolved",
            Fate::Unchanged => "unchanged",
            Fate::Waived => "waived",
        };
        text.push_str(&look.wrapped("  ", "    ", &format!("{fate} {} {}: {told}", one.severity.word(), one.rule)));
    }
    let kept: BTreeSet<&str> = list.iter().filter(|one| one.fate == Fate::Unchanged).map(|one| one.rule).collect();
    if !kept.is_empty() {
        let kept: Vec<&str> = kept.into_iter().collect();
        text.push_str(&look.wrapped("  ", "    ", &format!("unchanged {}", kept.join(", "))));
    }
    text + "\n"
}

/// Features affected, how much is the same, and what the answer rests on.
fn foot(compared: &Comparison<'_>, look: &Look) -> String {
    let Comparison { old, new, changes, .. } = compared;
    let same = &changes.same;
    let mut text = String::new();
    let FeatureCount { holes, cuts } = same.affected;
    if holes + cuts > 0 {
        let names = affected_names(changes);
        let of = |some: u64, old: u64, new: u64, noun: &str| {
            (some > 0).then(|| format!("{} of {}", super::grouped(some), counted(old.max(new), noun)))
        };
        let holes = of(holes, same.old.holes, same.new.holes, "hole operation");
        let cuts = of(cuts, same.old.cuts, same.new.cuts, "cut");
        let counts = holes.into_iter().chain(cuts).collect::<Vec<_>>().join(" and ");
        let told = format!("affected: {counts}, at {}. {DECISION}", compressed(&names));
        text.push_str(&look.wrapped("", "  ", &told));
    } else if !changes.machining.is_empty() {
        text.push_str(&look.wrapped("", "  ", "no hole and no cut is made in another way"));
    }
    let moves = format!(
        "{} of {} with path, feed and conditions as before; old has {}",
        super::grouped(same.same_moves),
        counted(same.new_moves, "move"),
        super::grouped(same.old_moves)
    );
    text.push_str(&look.wrapped("", "  ", &moves));
    for (name, report) in [("old", old), ("new", new)] {
        let told = format!("{name}: {}; {}", super::coverage(report), super::checks(report));
        text.push_str(&look.wrapped("  ", "  ", &told));
    }
    text + &look.wrapped("  ", "  ", CAUTION)
}

/// Names of the holes and cuts that some change concerns.
pub(super) fn affected_names(changes: &Changes) -> Vec<String> {
    let features = changes.machining.iter().flat_map(|change| &change.features);
    let named: BTreeSet<&str> =
        features.filter(|one| one.kind != FeatureKind::Travel).map(|one| one.name.as_str()).collect();
    named.into_iter().map(str::to_owned).collect()
}
