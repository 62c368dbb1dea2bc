//! The proof of another order: the same holes made in the same way, the same cuts, nothing new found, nothing slower.

use super::work::Work;
use crate::operation::{Cut, Recipe, Stroke, StrokeKind, Survey};
use crate::tune::proof::nothing_worse;
use crate::tune::{Run, Task};
use std::collections::BTreeMap;

/// A number as far as two texts can be told apart by it, 0.0001 mm or mm/min.
pub(super) fn grain(value: f64) -> i64 {
    libm::round(value * 1e4) as i64
}

/// Whether the second program does what the first does, in another order.
///
/// # Errors
/// With what differs.
pub(super) fn same_work(before: &Run, after: &Run, task: &Task<'_>) -> Result<(), String> {
    holes(&before.survey, &after.survey)?;
    cuts(&before.survey, &after.survey)?;
    if Work::of(before, task) != Work::of(after, task) {
        return Err("something would be fed, or waited for, in another way".to_owned());
    }
    nothing_worse(before, after)
}

/// Every place has the same recipes in the same order.
fn holes(before: &Survey, after: &Survey) -> Result<(), String> {
    let (was, is) = (by_place(before), by_place(after));
    if was.len() != is.len() || before.holes.len() != after.holes.len() {
        return Err("it would make other holes".to_owned());
    }
    for ((place, was), (other, is)) in was.iter().zip(&is) {
        if place != other {
            return Err("a hole would move".to_owned());
        }
        let alike = was.len() == is.len() && was.iter().zip(is).all(|(was, is)| made_alike(was, is));
        if !alike {
            let [x, y] = [place.0, place.1].map(|value| value as f64 / 1e4);
            return Err(format!("the hole at X{x:.3} Y{y:.3} would be made in another way"));
        }
    }
    Ok(())
}

fn by_place(survey: &Survey) -> BTreeMap<(i64, i64), Vec<&Recipe>> {
    let mut places: BTreeMap<(i64, i64), Vec<&Recipe>> = BTreeMap::new();
    for hole in &survey.holes {
        let recipe = survey.recipe_of(hole);
        places.entry((grain(hole.x), grain(hole.y))).or_default().extend(recipe);
    }
    places
}

/// The same tool, depths, feeds, speeds and dwells; how the tool comes and goes above the hole may differ.
fn made_alike(a: &Recipe, b: &Recipe) -> bool {
    let work = |recipe: &Recipe| {
        let inside = recipe.strokes.iter().filter(|stroke| stroke.kind != StrokeKind::Rapid);
        let stroke = |stroke: &Stroke| {
            let ends = (grain(stroke.from), grain(stroke.to));
            let dwell = match stroke.kind {
                StrokeKind::Dwell(seconds) => Some(seconds.map(grain)),
                StrokeKind::Feed | StrokeKind::Rapid | StrokeKind::Spindle => None,
            };
            (ends, stroke.feed.map(grain), stroke.speed.map(grain), stroke.sense, dwell)
        };
        inside.map(stroke).collect::<Vec<_>>()
    };
    (a.tool, a.axis, a.origin, a.heights_known) == (b.tool, b.axis, b.origin, b.heights_known)
        && (grain(a.bottom), grain(a.start), grain(a.pilot)) == (grain(b.bottom), grain(b.start), grain(b.pilot))
        && work(a) == work(b)
}

/// The same cuts in the same order.
fn cuts(before: &Survey, after: &Survey) -> Result<(), String> {
    let cut = |cut: &Cut| (cut.tool, cut.edge, grain(cut.length), grain(cut.lowest));
    if !before.cuts.iter().map(cut).eq(after.cuts.iter().map(cut)) {
        return Err("a cut would change".to_owned());
    }
    Ok(())
}
