//! Watches steps go by and recognises holes in them.

use super::{Hole, Recipe};
use crate::job::Job;
use crate::motion::{BlockRef, MotionFault, Step, Trace};

/// Whether the tool touches material during a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Contact {
    /// In the air all the way.
    Clear,
    /// In material for at least part of the way.
    Material,
    /// Cannot be told: no entry face, no length offset, or position unknown.
    Unknown,
}

/// One stretch of a tool in the spindle.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ToolUse {
    /// Tool number; 0 when none or unknown.
    pub tool: u32,
    /// Block of the tool change; the first block for a tool already in the spindle.
    pub block: BlockRef,
    /// Holes made, as a range of indices into the survey's holes.
    pub holes: std::ops::Range<u32>,
    /// Path fed through material by other than hole making, mm.
    pub cut_length: f64,
    /// Depth drilled in material, summed over its holes, mm.
    pub drilled_length: f64,
    /// Lowest Z reached, program mm, if any Z was known.
    pub lowest: Option<f64>,
    /// Time at feed, s, as commanded.
    pub feed_time: f64,
}

/// What a run leaves behind: small records, never every move.
#[derive(Clone, Debug, Default)]
pub struct Survey {
    /// Holes in order of making.
    pub holes: Vec<Hole>,
    /// Recipes the holes share.
    pub recipes: Vec<Recipe>,
    /// Tool stretches in order.
    pub tools: Vec<ToolUse>,
    /// Call traces that `TraceId` names.
    pub traces: Vec<Trace>,
    /// For each hole the previous hole at the same place, as index + 1; 0 for none.
    pub earlier: Vec<u32>,
}

impl Survey {
    /// The recipe of a hole.
    #[must_use]
    pub fn recipe_of(&self, hole: &Hole) -> Option<&Recipe> {
        self.recipes.get(hole.recipe as usize)
    }
}

/// Someone who watches holes and steps with their contact.
pub trait Watcher {
    /// One step and whether it touches material.
    fn step(&mut self, step: &Step<'_>, contact: Contact);
    /// A hole is finished; `new` says that its recipe has not been seen before.
    fn hole(&mut self, index: u32, new: bool, survey: &Survey);
    /// A tool's stretch ended.
    fn tool(&mut self, used: &ToolUse, survey: &Survey);
    /// The state machine could not do something.
    fn fault(&mut self, fault: MotionFault);
    /// A block was read.
    fn block(&mut self, block: BlockRef, understood: bool);
}

/// Observes motion, keeps the survey, tells a watcher.
pub struct Recogniser<'a, W> {
    /// The job, for faces, tools and layers.
    pub job: Option<&'a Job>,
    /// What was found so far.
    pub survey: Survey,
    /// Who is told.
    pub watcher: W,
}
