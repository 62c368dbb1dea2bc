//! Cuts along the same way, one deeper or farther in than the other, that one cut would do.

use super::ways::Ways;
use super::{SAME, Suggestion, kept};
use crate::job::{Job, Tool, ToolKind};
use crate::operation::{Cut, Stretch};
use crate::process::chip::contact_angle;
use crate::process::{CutReading, POST_ROUNDING, radial_engagement};
use crate::tune::{Run, Task};
use crate::units::{Degrees, Millimetres, UnitSystem};
use std::collections::{BTreeMap, BTreeSet};

/// Share by which the lengths of two passes side by side may differ: a house value.
const BESIDE: f64 = 0.1;
/// Engagement from which a compression router cuts a slot, as a share of its diameter: a house value.
const SLOT: f64 = 0.9;

/// What one pass instead of several would be.
struct Merged {
    cut: Cut,
    passes: Vec<usize>,
    way: &'static str,
}

/// Cuts that one cut would do: those one above the other, and of the others those side by side.
pub(super) fn suggestions(run: &Run, task: &Task<'_>) -> Vec<Suggestion> {
    let cuts = &run.survey.cuts;
    let ways = Ways::of(run, task);
    let numbered = || cuts.iter().enumerate();
    let same_way = numbered().filter_map(|(index, cut)| Some(((cut.tool, ways.print(index)?), index)));
    let same_edge = numbered().filter_map(|(index, cut)| Some(((cut.tool, cut.edge.or(ways.beside(index))?), index)));
    let below = chains(same_way, |a, b| is_below(a, b, cuts)).into_iter().filter_map(|passes| deeper(passes, cuts));
    let beside = chains(same_edge, |a, b| is_beside(a, b, cuts));
    let beside = beside.into_iter().filter_map(|passes| wider(passes, cuts, task.job));
    let mut told: BTreeMap<usize, Suggestion> = BTreeMap::new();
    let mut taken: BTreeSet<usize> = BTreeSet::new();
    for merged in below.chain(beside) {
        if merged.passes.iter().any(|pass| taken.contains(pass)) {
            continue;
        }
        if let (Some(new), Some(first)) = (suggestion(&merged, run, task.job), merged.passes.first()) {
            told.insert(*first, new);
            taken.extend(merged.passes);
        }
    }
    told.into_values().collect()
}

/// Passes of each key that follow on each other, at least two in a row.
fn chains<K: Ord>(keyed: impl Iterator<Item = (K, usize)>, follows: impl Fn(usize, usize) -> bool) -> Vec<Vec<usize>> {
    let mut alike: BTreeMap<K, Vec<usize>> = BTreeMap::new();
    keyed.for_each(|(key, index)| alike.entry(key).or_default().push(index));
    let rows = alike.values().flat_map(|passes| passes.chunk_by(|a, b| follows(*a, *b)));
    rows.filter(|row| row.len() > 1).map(<[usize]>::to_vec).collect()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= SAME
}

/// Whether a cut goes deeper than an earlier one along the same way.
fn is_below(a: usize, b: usize, cuts: &[Cut]) -> bool {
    cuts.get(a).zip(cuts.get(b)).is_some_and(|(first, next)| next.lowest < first.lowest - SAME)
}

/// Whether a cut runs beside an earlier one along the same edge, equally deep.
fn is_beside(a: usize, b: usize, cuts: &[Cut]) -> bool {
    cuts.get(a).zip(cuts.get(b)).is_some_and(|(first, next)| {
        let long = (first.length - next.length).abs() <= BESIDE * next.length;
        (first.side, first.direction) == (next.side, next.direction) && near(first.lowest, next.lowest) && long
    })
}

/// The last of the passes, through all that those before it take off the top.
fn deeper(passes: Vec<usize>, cuts: &[Cut]) -> Option<Merged> {
    let top = passes.iter().filter_map(|pass| cuts.get(*pass)).flat_map(|cut| &cut.stretches);
    let top = top.map(|stretch| stretch.top).reduce(f64::max)?;
    let last = cuts.get(*passes.last()?)?;
    let stretches = last.stretches.iter().map(|stretch| Stretch { top, ..*stretch }).collect();
    Some(Merged { cut: Cut { stretches, ..last.clone() }, passes, way: "one above the other" })
}

/// The last of the passes, through all that those before it take off the side. A full slot has no side to take from.
fn wider(passes: Vec<usize>, cuts: &[Cut], job: &Job) -> Option<Merged> {
    let last = cuts.get(*passes.last()?)?;
    let diameter = job.tool(last.tool)?.diameter.0;
    let mut width = 0.0;
    for cut in passes.iter().filter_map(|pass| cuts.get(*pass)) {
        let angles = cut.stretches.iter().map(|stretch| stretch.engagement.map(|(_, most)| most));
        let most = angles.collect::<Option<Vec<_>>>()?.into_iter().reduce(f64::max)?;
        width += radial_engagement(Degrees(most));
    }
    let angle = contact_angle(width).to_degrees();
    if width * diameter > diameter - SAME {
        return None;
    }
    let stretches = last.stretches.iter().map(|stretch| Stretch { engagement: Some((angle, angle)), ..*stretch });
    Some(Merged { cut: Cut { stretches: stretches.collect(), ..last.clone() }, passes, way: "side by side" })
}

/// The suggestion, where the one pass keeps its limits and all of them are known.
fn suggestion(merged: &Merged, run: &Run, job: &Job) -> Option<Suggestion> {
    let (cuts, units) = (&run.survey.cuts, run.units);
    let tool = job.tool(merged.cut.tool)?;
    let flutes = tool.flute_length?;
    let readings = CutReading::of(&merged.cut, job);
    let pieces = merged.cut.stretches.iter().zip(&readings).filter(|(_, reading)| !reading.core_only);
    let mut least: Option<&CutReading> = None;
    for (stretch, reading) in pieces {
        if !keeps(stretch, reading, tool, flutes) {
            return None;
        }
        if least.is_none_or(|known| reading.flutes > known.flutes) {
            least = Some(reading);
        }
    }
    let reading = least?;
    let earlier = merged.passes.split_last()?.1.iter().filter_map(|pass| cuts.get(*pass));
    let heights = merged.passes.iter().filter_map(|pass| cuts.get(*pass));
    let heights: Vec<String> = heights.map(|cut| units.coordinate('Z', Millimetres(cut.lowest))).collect();
    let what = format!(
        "{} cuts {} over {}, tip at {}: the last alone keeps its limits",
        merged.passes.len(),
        merged.way,
        units.length(Millimetres(merged.cut.length)),
        heights.join(", ")
    );
    Some(Suggestion {
        tool: tool.number,
        what,
        why: why(reading, tool, flutes, units)?,
        seconds: Some(earlier.map(seconds).sum()),
    })
}

/// Whether a stretch of the one pass keeps flutes, floor, ceiling and what a compression router may do in a slot.
fn keeps(stretch: &Stretch, reading: &CutReading, tool: &Tool, flutes: Millimetres) -> bool {
    let (Some(feed), Some(floor), Some(ceiling)) = (reading.per_tooth, &reading.floor, &reading.ceiling) else {
        return false;
    };
    let Some(engaged) = stretch.engagement.map(|(_, most)| radial_engagement(Degrees(most))) else { return false };
    let chip = reading.chip_max.map_or(0.0, |chip| chip.to_mm().0);
    let slot =
        matches!(tool.kind, ToolKind::CompressionRouter { .. }) && engaged >= SLOT && reading.axial > tool.diameter;
    reading.flutes <= flutes
        && feed.0 <= ceiling.value.0 * (1.0 + POST_ROUNDING)
        && (reading.brief || chip >= floor.value.0 * (1.0 - POST_ROUNDING))
        && !slot
}

fn why(reading: &CutReading, tool: &Tool, flutes: Millimetres, units: UnitSystem) -> Option<Vec<String>> {
    let (floor, ceiling) = (reading.floor.as_ref()?, reading.ceiling.as_ref()?);
    let deep = format!("{} deep, flutes", units.length(reading.flutes));
    let fed = format!("{} fed, feed ceiling", units.per_tooth(reading.per_tooth?));
    Some(vec![
        kept(&deep, &units.length(flutes), &format!("job file: tool.{}.flute_length", tool.number)),
        kept(&fed, &units.per_tooth(ceiling.value), &ceiling.origin),
        kept("chip-load floor, kept after thinning,", &units.per_tooth(floor.value), &floor.origin),
        "not judged: whether tool and clamping stand the greater force, how the pass would enter, what finish is wanted"
            .to_owned(),
    ])
}

/// Seconds that a cut is fed.
fn seconds(cut: &Cut) -> f64 {
    let fed = cut
        .stretches
        .iter()
        .filter_map(|stretch| Some(60.0 * stretch.length / stretch.feed.filter(|feed| *feed > 0.0)?));
    fed.sum()
}
