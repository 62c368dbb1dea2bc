//! A hole does not reach its full diameter through the thickest part the laminate's tolerance allows.
//!
//! ## Why it matters
//! The hole is a cone at the exit face and the fastener jams or cracks it open. The tip and the full diameter are
//! different depths: the point is D / (2 tan(point/2)) long, so depth must be thickness, plus tolerance, plus point,
//! plus the overtravel the laminate asks for.
//!
//! Each tool that works at a place is judged by its deepest hole there. Where the job lists the drawing's holes, only
//! those drawn through count; elsewhere a hole counts once its tip leaves the nominal exit face.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-7.5 R2 F150 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F150
//! G80
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-5 R2 F150
//! Z-8.5
//! G80
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-4 R2 F150
//! G80
//! M30
//! ```
//!
//! ## Remedy
//! Drills to full diameter out of the thickest part plus overtravel.

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::{Job, Laminate, ToolKind};
use crate::operation::{Breakthrough, HoleWord, Recipe, Stages, Survey};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "not-through",
    severity: Severity::Error,
    summary: "full diameter not through the thickest part",
    checks: &[Check::Program(check), Check::Program(missing::laminate)],
};

/// Rounding of depths, mm.
const HAIR: f64 = 1e-6;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some((job, laminate)) = cx.job.and_then(|job| Some((job, job.laminate.as_ref()?))) else { return };
    let short: Vec<Option<Breakthrough>> =
        survey.recipes.iter().map(|recipe| shortfall(recipe, job, laminate, cx)).collect();
    if short.iter().all(Option::is_none) {
        return;
    }
    let stages = Stages::of(survey, Some(job));
    for (index, hole) in survey.holes.iter().enumerate() {
        let Some(Some(out)) = short.get(hole.recipe as usize) else { continue };
        if stages.must_be_through(index, out) {
            report(cx, index, out, job, laminate);
        }
    }
}

/// How a recipe breaks through, if it falls short of full diameter.
fn shortfall(recipe: &Recipe, job: &Job, laminate: &Laminate, cx: &mut Context<'_>) -> Option<Breakthrough> {
    let tool = cx.tool(recipe.tool)?;
    if matches!(tool.kind, ToolKind::Countersink { .. }) || !recipe.heights_known {
        return None;
    }
    let bottom = Millimetres(job.head.entry_z.0 - recipe.bottom);
    cx.point(tool.number)?;
    let out = Breakthrough::of(laminate, tool, bottom)?;
    (bottom.0 < out.needed(laminate).0 - HAIR).then_some(out)
}

fn report(cx: &mut Context<'_>, index: usize, out: &Breakthrough, job: &Job, laminate: &Laminate) {
    let units = cx.units;
    let [_, nominal, thick] = out.tip_out;
    let need = out.needed(laminate);
    let depth = Millimetres(job.head.entry_z.0 - need.0);
    let index = u32::try_from(index).unwrap_or(u32::MAX);
    let full = units.length(Millimetres(out.full_up_to.0.max(0.0)));
    let [is_nominal, most] = [nominal, thick].map(|depth| units.length(depth));
    let measured = job.measured.as_ref().is_some_and(|measured| measured.has_thickness_of(&laminate.name));
    let (may_be, part) = if measured {
        ("measures", format!("part {most} as measured"))
    } else {
        ("may be", format!("thickest part {most} (nominal {is_nominal})"))
    };
    let message = format!("full diameter only up to {full} thick, the part {may_be} {most}");
    let over = laminate.overtravel.as_ref().map_or(Millimetres(0.0), |limit| limit.value);
    let origin = laminate.overtravel.as_ref().map_or_else(
        || "laminate thickness and tolerance".to_owned(),
        |limit| format!("laminate thickness and tolerance, {}", limit.origin),
    );
    let z = |depth: Millimetres| units.coordinate('Z', Millimetres(job.head.entry_z.0 - depth.0));
    let least = units.coordinate_down('Z', depth);
    cx.report(
        Report::new(Aim::HoleAt { index, word: HoleWord::Depth }, message)
            .why(format!(
                "{} minus a point of {} gives full diameter at {full}",
                z(out.bottom),
                units.length(out.point)
            ))
            .why(format!(
                "{part}, point {}, overtravel {}: needs {}",
                units.length(out.point),
                units.length(over),
                least,
            ))
            .measured(out.full_up_to.0, "mm")
            .limit(thick.0 + over.0, "mm", origin)
            .advice(format!("drill to {least} or deeper"))
            .remedy(Remedy::Depth(depth)),
    );
}
