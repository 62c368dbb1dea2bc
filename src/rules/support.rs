//! Questions that several rules ask of a step or a hole.

use super::{Context, HoleView, StepView};
use crate::job::{Limit, PeckRule, ToolKind};
use crate::motion::StepKind;
use crate::operation::{Contact, Origin, Recipe, StrokeKind};
use crate::units::Millimetres;

/// Whether the step feeds and touches material, or may touch it for all that is known.
#[must_use]
pub fn may_cut(view: &StepView<'_>) -> bool {
    let feeds = matches!(view.step.kind, StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_));
    feeds && view.contact != Contact::Clear
}

/// Whether a hole is made by going straight down; what a milling tool meets on its way is judged over its whole path.
#[must_use]
pub fn plunges(view: &HoleView<'_>) -> bool {
    matches!(view.recipe.origin, Origin::Cycle(_)) || view.tool.is_none_or(|tool| tool.kind.makes_holes())
}

/// One peck in a layer: how far the tip went in it, and by which stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PeckDepth {
    /// Index of the stroke.
    pub stroke: usize,
    /// Depth cut in the layer, mm.
    pub depth: f64,
}

/// The pecks of a hole in each metal layer that has a peck rule: layer name, rule, pecks.
pub fn pecks_of<'a>(view: &HoleView<'a>, cx: &mut Context<'_>) -> Vec<(&'a str, &'a Limit<PeckRule>, Vec<PeckDepth>)> {
    let drills =
        view.tool.is_none_or(|tool| !matches!(tool.kind, ToolKind::Reamer { .. } | ToolKind::Countersink { .. }));
    let Some(laminate) = view.laminate.filter(|_| drills) else { return Vec::new() };
    let metals = laminate.layers.iter().enumerate().filter(|(_, layer)| layer.material.class.is_metal());
    metals
        .filter_map(|(index, layer)| {
            let rule = layer.limits.peck.as_ref()?;
            let mut pecks: Vec<PeckDepth> = Vec::new();
            for pass in cx.layers_cut(view).iter().filter(|pass| pass.layer == index) {
                let depth = pass.depth.1.0 - pass.depth.0.0;
                match pecks.last_mut().filter(|peck| peck.stroke == pass.stroke) {
                    Some(peck) => peck.depth += depth,
                    None => pecks.push(PeckDepth { stroke: pass.stroke, depth }),
                }
            }
            Some((layer.name.as_str(), rule, pecks)).filter(|(.., pecks)| !pecks.is_empty())
        })
        .collect()
}

/// The deepest peck a rule allows; `None` when it sets no depth.
#[must_use]
pub fn most_peck(rule: PeckRule) -> Option<Millimetres> {
    match rule {
        PeckRule::FullRetract(most) | PeckRule::ChipBreak(most) | PeckRule::AtMost(most) => Some(most),
        PeckRule::Forbidden => None,
    }
}

/// Where feed strokes end that are followed by a retract and a deeper feed stroke: stroke index and height.
#[must_use]
pub fn peck_bottoms(recipe: &Recipe) -> Vec<(usize, f64)> {
    let strokes = &recipe.strokes;
    let downward = |index: &usize| {
        strokes.get(*index).is_some_and(|stroke| stroke.kind == StrokeKind::Feed && stroke.to < stroke.from)
    };
    let feeds: Vec<usize> = (0..strokes.len()).filter(downward).collect();
    let mut bottoms = Vec::new();
    for pair in feeds.windows(2) {
        let [first, next] = *pair else { continue };
        let retracts = strokes.get(first + 1..next).is_some_and(|between| {
            between
                .iter()
                .any(|stroke| matches!(stroke.kind, StrokeKind::Rapid | StrokeKind::Feed) && stroke.to > stroke.from)
        });
        let (Some(end), Some(deeper)) = (strokes.get(first), strokes.get(next)) else { continue };
        if retracts && deeper.to < end.to {
            bottoms.push((first, end.to));
        }
    }
    bottoms
}
