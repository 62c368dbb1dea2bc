//! Which holes are meant to go through, and which are only a stage of one.

use super::{Breakthrough, Hole, Survey};
use crate::job::Job;

/// Rounding of depths, mm.
const HAIR: f64 = 1e-6;

/// The holes of a run by what comes after each at its place.
pub struct Stages<'a> {
    survey: &'a Survey,
    job: Option<&'a Job>,
    /// For each hole the next one at the same place, as index + 1; 0 for none.
    later: Vec<u32>,
}

impl<'a> Stages<'a> {
    /// The stages of a run.
    #[must_use]
    pub fn of(survey: &'a Survey, job: Option<&'a Job>) -> Self {
        let mut later = vec![0; survey.holes.len()];
        for (index, earlier) in survey.earlier.iter().enumerate() {
            if let Some(slot) = earlier.checked_sub(1).and_then(|at| later.get_mut(at as usize)) {
                *slot = u32::try_from(index + 1).unwrap_or(0);
            }
        }
        Self { survey, job, later }
    }

    /// Whether hole `index` has to give full diameter through the part: the drawing says so, or it goes deeper than the
    /// part is thick, and the same tool goes no deeper at this place later on.
    #[must_use]
    pub fn must_be_through(&self, index: usize, out: &Breakthrough) -> bool {
        self.meant_through(index, out) && self.is_last(index)
    }

    /// Whether the same tool goes no deeper at the place of hole `index` later on.
    #[must_use]
    pub fn is_last(&self, index: usize) -> bool {
        self.survey.holes.get(index).is_some_and(|hole| !deepened(self.survey, &self.later, index, hole))
    }

    fn meant_through(&self, index: usize, out: &Breakthrough) -> bool {
        let drawn = self.survey.drawing.of_hole.get(index).copied().flatten();
        let group = drawn.and_then(|found| self.job?.holes.get(found.group));
        let [_, nominal, _] = out.tip_out;
        group.map_or(out.bottom > nominal, |group| group.through)
    }
}

fn deepened(survey: &Survey, later: &[u32], index: usize, hole: &Hole) -> bool {
    let Some(recipe) = survey.recipe_of(hole) else { return false };
    let mut at = index;
    while let Some(next) = later.get(at).and_then(|next| next.checked_sub(1)) {
        at = next as usize;
        let deeper = survey.holes.get(at).and_then(|hole| survey.recipe_of(hole));
        if deeper.is_some_and(|deeper| deeper.tool == recipe.tool && deeper.bottom < recipe.bottom - HAIR) {
            return true;
        }
    }
    false
}
