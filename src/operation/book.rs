//! The recipe book: recipes met before are found again, and what each comes to is worked out once.

use super::{AXIS_Z, Recipe, StrokeKind, point_length};
use crate::job::Job;
use std::collections::HashMap;

/// What a recipe comes to at any place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Facts {
    /// Tool that made it.
    pub tool: u32,
    /// Finished diameter, mm, when the job lists the tool.
    pub diameter: Option<f64>,
    /// Deepest point of the tip, program mm.
    pub bottom: f64,
    /// Height down to which the hole has its full diameter, program mm; `None` when the tool's point is unknown.
    pub full: Option<f64>,
    /// Whether the full diameter leaves the nominal exit face.
    pub through: bool,
    /// Depth in material, mm; 0 when it cannot be told.
    pub drilled: f64,
    /// Time at feed, s.
    pub seconds: f64,
}

/// Finds recipes by their contents.
#[derive(Default)]
pub(super) struct Book {
    /// By hash; recipes that share one stand under the numbers that follow it.
    by_hash: HashMap<u64, u32>,
    facts: Vec<Facts>,
    last: u32,
}

impl Book {
    /// Index of `recipe` in `recipes`, added when it is new, and whether it is.
    pub fn enter(&mut self, recipes: &mut Vec<Recipe>, recipe: &Recipe, job: Option<&Job>) -> (u32, bool) {
        if recipes.get(self.last as usize) == Some(recipe) {
            return (self.last, false);
        }
        let mut hash = hash(recipe);
        while let Some(index) = self.by_hash.get(&hash) {
            if recipes.get(*index as usize) == Some(recipe) {
                self.last = *index;
                return (self.last, false);
            }
            hash = hash.wrapping_add(1);
        }
        self.last = u32::try_from(recipes.len()).unwrap_or(u32::MAX);
        self.by_hash.insert(hash, self.last);
        self.facts.push(Facts::of(recipe, job));
        recipes.push(recipe.clone());
        (self.last, true)
    }

    /// What a recipe comes to.
    pub fn facts(&self, recipe: u32) -> Option<&Facts> {
        self.facts.get(recipe as usize)
    }
}

impl Facts {
    fn of(recipe: &Recipe, job: Option<&Job>) -> Self {
        let tool = job.and_then(|job| job.tool(recipe.tool));
        let point = tool.and_then(point_length).map(|length| length.0);
        let thickness = job.and_then(|job| job.laminate.as_ref()).map(|laminate| laminate.thickness().0);
        let measurable = recipe.heights_known && recipe.axis == AXIS_Z;
        let depth = job.filter(|_| measurable).map(|job| (job.head.entry_z.0 - recipe.bottom).max(0.0));
        let through = match (depth, point, thickness) {
            (Some(depth), Some(point), Some(thickness)) => depth - point >= thickness - 1e-6,
            _ => false,
        };
        Self {
            tool: recipe.tool,
            diameter: tool.and_then(|tool| recipe.finished_diameter(tool)).map(|diameter| diameter.0),
            bottom: recipe.bottom,
            full: point.map(|point| recipe.bottom + point),
            through,
            drilled: depth.map_or(0.0, |depth| depth.min(thickness.unwrap_or(f64::INFINITY))),
            seconds: seconds_at_feed(recipe),
        }
    }
}

fn seconds_at_feed(recipe: &Recipe) -> f64 {
    let feeds = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed);
    feeds.filter_map(|stroke| stroke.feed.map(|feed| 60.0 * (stroke.to - stroke.from).abs() / feed)).sum()
}

/// Mixes the fields that tell recipes apart; equality decides.
fn hash(recipe: &Recipe) -> u64 {
    let mut hash = u64::from(recipe.tool);
    let mut mix = |word: u64| hash = (hash.rotate_left(5) ^ word).wrapping_mul(0x517c_c1b7_2722_0a95);
    for height in [recipe.start, recipe.bottom, recipe.clear, recipe.pilot] {
        mix(height.to_bits());
    }
    for stroke in &recipe.strokes {
        mix(stroke.to.to_bits());
        mix(stroke.feed.unwrap_or(-1.0).to_bits());
        mix(stroke.speed.unwrap_or(-1.0).to_bits());
    }
    hash ^ (hash >> 32)
}
