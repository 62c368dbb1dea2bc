//! Holders that go into the part: holes and cuts deeper than the tool stands out.

use super::{BodyPart, Clearance, ClearanceGap, Hit, Obstacle};
use crate::job::{Job, Tool};
use crate::operation::{AXIS_Z, Recipe, Survey};
use std::collections::BTreeMap;

/// Holders nearer to the face than this do not go below it, mm; house value.
const HAIR: f64 = 1e-3;

/// What becomes of a holder at the lowest point of a hole or cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Sink {
    /// What is wider than the opening goes so far below the entry face, mm.
    Into(f64),
    /// The tool's key that would tell.
    Unknown(&'static str),
}

/// The holder of `tool` in an opening of `radius` mm, with the tip `depth` mm below the entry face; `None` where it stays
/// above the face or fits the opening.
#[must_use]
pub fn holder_in(tool: &Tool, radius: f64, depth: f64) -> Option<Sink> {
    let Some(stick_out) = tool.stick_out else {
        let safe = tool.flute_length.map_or(0.0, |flutes| flutes.0);
        return (depth > safe + HAIR).then_some(Sink::Unknown("stick_out"));
    };
    let mut height = stick_out.0;
    if depth <= height + HAIR {
        return None;
    }
    if tool.holder.is_empty() {
        return Some(Sink::Unknown("holder"));
    }
    for part in &tool.holder {
        let (lower, upper) = (part.lower.0 / 2.0, part.upper.0 / 2.0);
        if lower > radius || upper > radius {
            let share = if lower > radius { 0.0 } else { (radius - lower) / (upper - lower) };
            let into = depth - height - share * part.length.0;
            return (into > HAIR).then_some(Sink::Into(into));
        }
        height += part.length.0;
    }
    None
}

/// The holder of `tool` in a hole.
#[must_use]
pub fn holder_in_hole(recipe: &Recipe, tool: &Tool, job: &Job) -> Option<Sink> {
    if !recipe.heights_known || recipe.axis != AXIS_Z {
        return None;
    }
    let wide = recipe.finished_diameter(tool).unwrap_or(tool.diameter).0.max(recipe.pilot);
    holder_in(tool, wide / 2.0, job.head.entry_z.0 - recipe.bottom)
}

/// The deepest hole of each tool whose holder goes into the part, and tools of which that cannot be told. Rules tell the
/// holes one by one, so the hits have no places.
pub(super) fn in_holes(survey: &Survey, job: &Job) -> (Vec<Hit>, Vec<ClearanceGap>) {
    let mut hits: BTreeMap<u32, Hit> = BTreeMap::new();
    let mut gaps = Vec::new();
    for (index, recipe) in (0..).zip(&survey.recipes) {
        let sink = job.tool(recipe.tool).and_then(|tool| holder_in_hole(recipe, tool, job));
        match sink {
            Some(Sink::Into(into)) => {
                let known = hits.get(&recipe.tool).is_some_and(|hit| -hit.worst.gap >= into);
                let hole = survey.holes.iter().find(|hole| hole.recipe == index).filter(|_| !known);
                let Some(hole) = hole else { continue };
                let at = [hole.x, hole.y, recipe.bottom];
                let worst = Clearance::of_holder(recipe.tool, into, hole.first_block(), at);
                hits.insert(recipe.tool, Hit { worst, rapid: false, places: Vec::new() });
            }
            Some(Sink::Unknown(key)) => gaps.push(ClearanceGap::Depth { tool: recipe.tool, key }),
            None => {}
        }
    }
    (hits.into_values().collect(), gaps)
}

impl Clearance {
    /// A holder `into` mm below the entry face.
    pub(super) fn of_holder(tool: u32, into: f64, block: crate::motion::BlockRef, at: [f64; 3]) -> Self {
        let (part, obstacle) = (BodyPart::Holder, Obstacle::Part);
        Self { tool, gap: -into, axis: 2, part, obstacle, block, from: at, at }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::operation::watched;

    fn tool(more: &str) -> Tool {
        let head = "[job]\npart = 'P'\nunits = 'mm'\nentry_z = 0\n[tool.1]\nkind = 'reamer'\ndiameter = 12\n";
        watched::job(&format!("{head}{more}")).tool(1).unwrap().clone()
    }

    #[test]
    fn a_holder_sinks_by_what_the_hole_is_deeper_than_the_stick_out() {
        let held = tool("stick_out = 10\nholder = [{ length = 60, diameter = 50 }]");
        assert_eq!(holder_in(&held, 6.0, 43.0), Some(Sink::Into(33.0)));
        assert_eq!(holder_in(&held, 6.0, 10.0), None, "it just touches the face");
        assert_eq!(holder_in(&held, 25.0, 43.0), None, "it fits the hole");
    }

    #[test]
    fn a_slim_holder_sinks_from_where_it_is_wider_than_the_hole() {
        let slim = tool("stick_out = 10\nholder = [{ length = 40, lower = 10, upper = 50 }]");
        // Its radius goes from 5 to 25 over 40 mm: 13 at 16 mm above its end, 26 mm above the tip.
        let Some(Sink::Into(into)) = holder_in(&slim, 13.0, 43.0) else { panic!("it must sink") };
        assert!((into - 17.0).abs() < 1e-9, "{into}");
        assert_eq!(holder_in(&slim, 13.0, 25.0), None);
    }

    #[test]
    fn what_is_not_described_is_asked_for_only_where_it_could_matter() {
        assert_eq!(holder_in(&tool("flute_length = 60"), 6.0, 43.0), None);
        assert_eq!(holder_in(&tool("flute_length = 40"), 6.0, 43.0), Some(Sink::Unknown("stick_out")));
        assert_eq!(holder_in(&tool("stick_out = 40"), 6.0, 43.0), Some(Sink::Unknown("holder")));
        assert_eq!(holder_in(&tool("stick_out = 44"), 6.0, 43.0), None);
    }
}
