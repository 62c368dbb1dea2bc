//! The proof of a patch: read again and checked again, the targets are gone, nothing is new, every hole is as meant.

use super::draft::{Draft, Refusal};
use super::wish::Wish;
use super::{Inputs, WISH};
use crate::diagnostic::{Finding, NotChecked, Place, Severity};
use crate::operation::{EdgeCover, Recipe, Stroke, StrokeKind, Survey};
use crate::source::SourceId;
use std::collections::{BTreeMap, BTreeSet};

/// What checking the patched text gave.
#[derive(Debug, Default)]
pub struct Checked {
    /// Findings.
    pub findings: Vec<Finding>,
    /// Checks without data.
    pub not_checked: Vec<NotChecked>,
    /// Holes and tool stretches.
    pub survey: Survey,
}

/// Position and feed agreement asked of moves that should be the same, mm and mm/min.
const SAME: f64 = 1e-4;
/// Most that a depth may be deeper than meant, mm: the finest step an inch program writes.
const CUT: f64 = 0.003;

/// One broken rule at one place, wherever its text now stands.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Spot {
    /// By tool and position in 0.01 mm.
    Hole(&'static str, u32, i64, i64),
    /// By source and the line's first byte before the patch.
    Line(&'static str, SourceId, u32),
    /// By the entry of the job file it is about.
    JobEntry(&'static str, String),
}

/// How bad it is there: severity, and distance from the limit where both are known.
type Weight = (Severity, Option<f64>);

/// The gravest finding at a spot.
struct Seen<'a> {
    weight: Weight,
    finding: &'a Finding,
    hole: Option<u32>,
}

/// Why a draft does not hold: findings to blame, or a reason that names none.
#[derive(Debug, PartialEq, Eq)]
pub enum Fault {
    /// These findings cannot be drafted together with the others.
    Clash(Vec<Refusal>),
    /// These findings would not be cured.
    Uncured(Vec<Refusal>),
    /// Something else changed.
    Whole(String),
}

/// What the run after a patch shows besides its targets.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Outcome {
    /// Findings on holes that could not be judged before and now can, and waivers that a cure leaves without use.
    pub revealed: Vec<String>,
    /// Findings, by index, that were no targets and are gone all the same.
    pub gone: BTreeSet<usize>,
}

/// Compares the run before with the run after. Returns what the patch brings to light and takes along.
///
/// # Errors
/// With what does not hold.
pub fn verify(
    inputs: &Inputs<'_>,
    draft: &Draft,
    targets: &BTreeSet<usize>,
    after: &Checked,
) -> Result<Outcome, Fault> {
    holes_as_meant(inputs.survey, &after.survey, draft).map_err(Fault::Whole)?;
    edges_as_far(inputs, &after.survey).map_err(Fault::Whole)?;
    let spots_after = spots(&after.findings, &after.survey, |place| line_before(inputs, draft, place));
    let stands = |index: usize| inputs.findings.get(index).is_some_and(|finding| stands(finding, inputs, &spots_after));
    let uncured = targets.iter().filter(|index| stands(**index));
    let uncured: Vec<Refusal> = uncured.map(|index| (*index, "the change would not cure it".to_owned())).collect();
    if !uncured.is_empty() {
        return Err(Fault::Uncured(uncured));
    }
    let spots_before = spots(inputs.findings, inputs.survey, |place| line(inputs, place));
    let now_judged = |hole: u32| !judged(inputs.survey, hole) && judged(&after.survey, hole);
    let mut revealed = BTreeSet::new();
    for (spot, seen) in &spots_after {
        if spots_before.get(spot).is_some_and(|old| !worse(seen.weight, old.weight)) {
            continue;
        }
        let text = format!("{}: {}", seen.finding.rule, seen.finding.message);
        let of_job_file = seen.finding.rule == "waiver-unused";
        if !of_job_file && !seen.hole.is_some_and(now_judged) {
            return Err(Fault::Whole(format!("it would bring a new finding: {text}")));
        }
        revealed.insert(text);
    }
    let known: BTreeSet<&NotChecked> = inputs.not_checked.iter().collect();
    let new = after.not_checked.iter().find(|new| !known.contains(new));
    let more_judged = || (0..).zip(&after.survey.holes).any(|(hole, _)| now_judged(hole));
    match new {
        Some(new) if !more_judged() => {
            Err(Fault::Whole(format!("{} could no longer be concluded: {}", new.rule, new.why)))
        }
        _ => {
            let others = (0..).zip(inputs.findings).filter(|(index, finding)| {
                // What nobody found is not gone because nobody finds it.
                finding.rule != WISH && !targets.contains(index) && !stands(*index)
            });
            Ok(Outcome { revealed: revealed.into_iter().collect(), gone: others.map(|(index, _)| index).collect() })
        }
    }
}

/// Whether a finding is still there at one of its places, or speaks of the same entry of the job file.
fn stands(finding: &Finding, inputs: &Inputs<'_>, after: &BTreeMap<Spot, Seen<'_>>) -> bool {
    let place = |place: &Place| spot(finding.rule, place, inputs.survey, &|place| line(inputs, place));
    let entry = finding.job_entry.as_ref().map(|entry| Spot::JobEntry(finding.rule, entry.clone()));
    finding.places.iter().map(place).chain(entry).any(|spot| after.contains_key(&spot))
}

/// Whether a hole's heights, feeds and speeds are known.
fn judged(survey: &Survey, hole: u32) -> bool {
    let recipe = survey.holes.get(hole as usize).and_then(|hole| survey.recipe_of(hole));
    let stated = |stroke: &Stroke| stroke.speed.is_some() && (stroke.kind != StrokeKind::Feed || stroke.feed.is_some());
    recipe.is_some_and(|recipe| recipe.heights_known && recipe.strokes.iter().all(stated))
}

fn worse(new: Weight, old: Weight) -> bool {
    let further = matches!((new.1, old.1), (Some(new), Some(old)) if new > old + SAME * (1.0 + old));
    new.0 > old.0 || further
}

fn spots<'a>(findings: &'a [Finding], survey: &Survey, line: impl Fn(&Place) -> u32) -> BTreeMap<Spot, Seen<'a>> {
    let mut spots: BTreeMap<Spot, Seen<'a>> = BTreeMap::new();
    for finding in findings {
        let distance = match (&finding.measured, &finding.limit) {
            (Some(measured), Some(limit)) => Some((measured.value - limit.quantity.value).abs()),
            _ => None,
        };
        let weight = (finding.severity, distance);
        if let Some(entry) = &finding.job_entry {
            let seen = Seen { weight, finding, hole: None };
            spots.entry(Spot::JobEntry(finding.rule, entry.clone())).or_insert(seen);
        }
        for place in &finding.places {
            let seen = Seen { weight, finding, hole: place.hole };
            let spot = spot(finding.rule, place, survey, &line);
            if spots.get(&spot).is_none_or(|held| worse(weight, held.weight)) {
                spots.insert(spot, seen);
            }
        }
    }
    spots
}

fn spot(rule: &'static str, place: &Place, survey: &Survey, line: &dyn Fn(&Place) -> u32) -> Spot {
    let hole = place.hole.and_then(|index| survey.holes.get(index as usize));
    match hole {
        Some(hole) => Spot::Hole(rule, place.tool.unwrap_or(0), hundredths(hole.x), hundredths(hole.y)),
        None => Spot::Line(rule, place.source, line(place)),
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a cast from float saturates, and travel is far below the bound")]
fn hundredths(value: f64) -> i64 {
    libm::round(value * 100.0) as i64
}

fn line(inputs: &Inputs<'_>, place: &Place) -> u32 {
    start_of_line(inputs, place.source, place.span.start)
}

fn line_before(inputs: &Inputs<'_>, draft: &Draft, place: &Place) -> u32 {
    let at = draft.edits.get(&place.source).map_or(place.span.start, |edits| edits.origin_of(place.span.start));
    start_of_line(inputs, place.source, at)
}

fn start_of_line(inputs: &Inputs<'_>, source: SourceId, at: u32) -> u32 {
    inputs.sources.get(usize::from(source.0)).map_or(at, |source| source.line_start(at))
}

/// The same holes in the same order by the same tools; recipes differ only where and as they are meant to.
fn holes_as_meant(before: &Survey, after: &Survey, draft: &Draft) -> Result<(), String> {
    if before.holes.len() != after.holes.len() {
        return Err(format!("it would make {} holes instead of {}", after.holes.len(), before.holes.len()));
    }
    let mut compared: BTreeSet<(u32, u32)> = BTreeSet::new();
    for (index, (old, new)) in (0..).zip(before.holes.iter().zip(&after.holes)) {
        if (old.x - new.x).abs() > SAME || (old.y - new.y).abs() > SAME {
            return Err(format!("hole {} would move", index + 1));
        }
        let wish = draft.wishes.get(&index);
        if wish.is_none() && !compared.insert((old.recipe, new.recipe)) {
            continue;
        }
        let recipes = before.recipe_of(old).zip(after.recipe_of(new)).ok_or("a recipe is missing")?;
        let meant = Meant { wish, raised: draft.rise, worded: draft.worded };
        recipe_as_meant(recipes, &meant).map_err(|what| format!("hole {}: {what}", index + 1))?;
    }
    tools_as_meant(before, after)
}

/// What is meant to happen to one hole.
struct Meant<'a> {
    wish: Option<&'a Wish>,
    /// Highest level that any retract is raised to.
    raised: Option<f64>,
    /// Whether rules worded some of the text, so that modal values may change.
    worded: bool,
}

fn recipe_as_meant((old, new): (&Recipe, &Recipe), meant: &Meant<'_>) -> Result<(), String> {
    let Meant { wish, raised, worded } = *meant;
    if old.tool != new.tool {
        return Err(format!("tool {} would become tool {}", old.tool, new.tool));
    }
    let bottom = wish.map_or(old.bottom, |wish| wish.bottom(old.bottom));
    if new.bottom > bottom + SAME || new.bottom < bottom - if wish.is_some() { CUT } else { SAME } {
        return Err(format!("the bottom would be Z{:.3} where Z{bottom:.3} is meant", new.bottom));
    }
    // Written out, a hole counts as left only where the tool next moves sideways, which may be higher up.
    let highest = match wish {
        Some(wish) if wish.needs_long_hand() => f64::INFINITY,
        _ => raised.map_or(old.clear, |height| height.max(old.clear) + CUT) + SAME,
    };
    let lowest = wish.and_then(|wish| wish.approach).map_or(old.clear, |height| height.min(old.clear));
    if new.clear < lowest - SAME || new.clear > highest {
        return Err(format!("the tool would be left at Z{:.3} instead of Z{:.3}", new.clear, old.clear));
    }
    if wish.is_none() && !strokes_same(old, new, worded) {
        return Err("its strokes would change".to_owned());
    }
    if let Some(wish) = wish {
        strokes_as_wished(old, new, wish)?;
    }
    if let Some((a, b)) = speeds(old).zip(speeds(new)).filter(|(a, b)| (a - b).abs() > SAME && !worded) {
        return Err(format!("the spindle would turn at {b} instead of {a} rev/min"));
    }
    Ok(())
}

/// Feeds stay within what they were unless a feed is wished, and dwells stay unless none is wished.
fn strokes_as_wished(old: &Recipe, new: &Recipe, wish: &Wish) -> Result<(), String> {
    let (was, is) = (feeds(old), feeds(new));
    let slower = wish.slow_entry.is_some() || wish.slow_exit.is_some();
    if let (None, Some(was), Some(is)) = (wish.feed.or(wish.stairs.map(|_| 0.0)), was, is) {
        let slowest_same = slower || (was.0 - is.0).abs() <= SAME;
        if is.1 > was.1 + SAME || !slowest_same {
            return Err(format!("it would be fed at {} to {} instead of {} to {} mm/min", is.0, is.1, was.0, was.1));
        }
    }
    if !wish.no_dwell && dwells(old) != dwells(new) {
        return Err("its dwell would change".to_owned());
    }
    Ok(())
}

/// Least and most feed of a recipe.
fn feeds(recipe: &Recipe) -> Option<(f64, f64)> {
    let feeds = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed).filter_map(|stroke| stroke.feed);
    feeds.fold(None, |range, feed| match range {
        Some((least, most)) => Some((feed.min(least), feed.max(most))),
        None => Some((feed, feed)),
    })
}

fn dwells(recipe: &Recipe) -> Vec<StrokeKind> {
    let kinds = recipe.strokes.iter().map(|stroke| stroke.kind);
    kinds.filter(|kind| matches!(kind, StrokeKind::Dwell(_))).collect()
}

fn speeds(recipe: &Recipe) -> Option<f64> {
    recipe.strokes.first().and_then(|stroke| stroke.speed)
}

fn strokes_same(old: &Recipe, new: &Recipe, worded: bool) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= SAME;
    let same = |a: Option<f64>, b: Option<f64>| match (a, b) {
        (Some(a), Some(b)) => near(a, b),
        (a, b) => a.is_none() == b.is_none(),
    };
    let alike = |(a, b): (&Stroke, &Stroke)| {
        let values = worded || (same(a.feed, b.feed) && same(a.speed, b.speed) && a.sense == b.sense);
        a.kind == b.kind && near(a.from, b.from) && near(a.to, b.to) && values
    };
    let (old, new) = (until_out(&old.strokes), until_out(&new.strokes));
    old.len() == new.len() && old.iter().zip(new).all(alike)
}

/// Strokes without the rapids that leave the hole: how far up they go is judged by where the tool is left.
fn until_out(strokes: &[Stroke]) -> &[Stroke] {
    let inside = strokes.iter().rposition(|stroke| stroke.kind != StrokeKind::Rapid || stroke.to <= stroke.from);
    strokes.get(..inside.map_or(0, |last| last + 1)).unwrap_or_default()
}

/// No edge of the drawing is cut over less of its length, for a cut that misses it breaks no rule of cutting. Where a
/// wrong side had led through the part, its nicks in other sides may go.
fn edges_as_far(inputs: &Inputs<'_>, after: &Survey) -> Result<(), String> {
    let names = inputs.job.map_or(&[][..], |job| &job.edges);
    let tools = inputs.job.into_iter().flat_map(|job| job.tools.values());
    let nicks = 2.0 * tools.map(|tool| tool.diameter.0).fold(0.0, f64::max);
    let cut = |cover: &EdgeCover| {
        let marks = cover.marks.iter().filter(|mark| mark.is_cut()).count();
        marks as f64 * cover.spacing
    };
    let mut edges = names.iter().zip(inputs.survey.edges.iter().zip(&after.edges));
    match edges.find(|(_, (old, new))| cut(new) < (cut(old) - nicks).max(cut(old) * 0.9)) {
        Some((edge, _)) => Err(format!("edge {} would be cut over less of its length", edge.id)),
        None => Ok(()),
    }
}

fn tools_as_meant(before: &Survey, after: &Survey) -> Result<(), String> {
    if before.tools.len() != after.tools.len() {
        return Err("the tool changes would differ".to_owned());
    }
    let mut pairs = before.tools.iter().zip(&after.tools);
    match pairs.find(|(old, new)| old.tool != new.tool || old.holes != new.holes) {
        Some((old, _)) => Err(format!("tool {} would make other holes", old.tool)),
        None => Ok(()),
    }
}
