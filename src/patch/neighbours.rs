//! A feed that holes beside one already have, in place of one that only just keeps its limit.

use super::Inputs;
use crate::diagnostic::{Remedy, Status};
use crate::operation::{StrokeKind, Survey};
use crate::units::MmPerMin;
use std::collections::BTreeSet;

/// How many holes before and behind one may lend it their feed; house value.
const REACH: u32 = 3;

/// The holes of a run, and which of them have nothing against them.
pub struct Neighbours<'a> {
    survey: &'a Survey,
    /// Holes that some open finding points at.
    found: BTreeSet<u32>,
}

impl<'a> Neighbours<'a> {
    /// The holes of the run that `inputs` come from.
    pub fn new(inputs: &Inputs<'a>) -> Self {
        let open = inputs.findings.iter().filter(|finding| finding.status == Status::Open);
        let found = open.flat_map(|finding| &finding.places).filter_map(|place| place.hole).collect();
        Self { survey: inputs.survey, found }
    }

    /// The remedy with the feed of a hole near by that is made by the same tool to the same depth and has no finding,
    /// where that feed lies on the safe side: a limit leaves no margin, and one feed in a row is what people post.
    pub fn like(&self, hole: u32, remedy: &Remedy) -> Remedy {
        let (Remedy::Feed(wanted), Some(own)) = (remedy, self.made(hole)) else { return remedy.clone() };
        let near = (1..=REACH).flat_map(|away| [hole.checked_sub(away), hole.checked_add(away)]).flatten();
        let clean = near.filter(|other| !self.found.contains(other)).filter_map(|other| self.made(other));
        let mut safe = clean.filter(|other| {
            let on_its_side = if own.feed > wanted.0 { other.feed <= wanted.0 } else { other.feed >= wanted.0 };
            other.tool == own.tool && other.bottom == own.bottom && on_its_side
        });
        safe.next().map_or_else(|| remedy.clone(), |other| Remedy::Feed(MmPerMin(other.feed)))
    }

    /// How a hole is made that is fed alike all the way.
    fn made(&self, hole: u32) -> Option<Made> {
        let recipe = self.survey.recipe_of(self.survey.holes.get(hole as usize)?)?;
        let mut feeds = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed).map(|one| one.feed);
        let feed = feeds.next()??;
        feeds.all(|other| other == Some(feed)).then_some(Made { tool: recipe.tool, bottom: recipe.bottom, feed })
    }
}

/// A hole by tool, bottom and feed, mm and mm/min.
struct Made {
    tool: u32,
    bottom: f64,
    feed: f64,
}
