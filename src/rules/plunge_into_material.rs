//! A cutter without teeth to its centre is fed straight down into material.
//!
//! ## Why it matters
//! What the end teeth do not reach is not cut but pushed and burnt, and the plies below are driven out. Such cutters enter
//! down a ramp or a helix, from the side, or in a hole made before (trade text on routers: common practice). Straight down
//! in a hole already open, or in air beside the panel, is no plunge.
//!
//! ## Fires on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X80 Y50 Z2
//! G1 Z-7 F300 (!)
//! G1 X120 F1000
//! G0 Z5
//! M30
//! ```
//! A hole plunged with a router:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X80 Y50 Z2
//! G1 Z-7 F300 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! A ramp, and a cutter that cuts to its centre:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X80 Y50 Z0.5
//! G1 X120 Z-3 F1000
//! G1 X80 Z-6.5
//! G1 X120
//! G0 Z5
//! T4 M6
//! S10000 M3
//! G0 G43 H4 X40 Y50 Z2
//! G1 Z-4 F300
//! G1 X60 F1000
//! G0 Z5
//! M30
//! ```
//! Down beside the panel:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z2
//! G1 Z-7 F300
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! A ramp to and fro along the move behind the plunge, or a helix round the circle behind it: it cuts nothing that this
//! move would not. None without such a move, for a hole, or where the laminate states no `trim.ramp`.

use super::trim::{cuts_to_centre, laminate, stretches_if};
use super::{Aim, Check, Context, CutView, HoleView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::Tool;
use crate::operation::{HoleWord, Origin, Path, StrokeKind};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "plunge-into-material",
    severity: Severity::Error,
    summary: "a cutter that cannot plunge is fed straight down",
    checks: &[Check::Cut(check), Check::Hole(hole), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// Shorter plunges are rounding, mm; house value.
const HAIR: f64 = 0.01;

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool.filter(|tool| !cuts_to_centre(&tool.kind)) else { return };
    for (_, stretch) in stretches_if(view, |stretch, _| stretch.path == Path::Plunge) {
        if stretch.length <= HAIR {
            continue;
        }
        let aim = Aim::Block(stretch.first);
        let slope = laminate(view, stretch).and_then(|laminate| laminate.trim.ramp.as_ref());
        let top = view.job.head.entry_z;
        cx.report_worst((tool.number, 0, 0), stretch.length, aim, |units| {
            let report = message(tool, stretch.length, aim, units);
            slope.into_iter().fold(report, |report, slope| report.remedy(Remedy::RampIn { top, slope: slope.value }))
        });
    }
}

/// A hole that a router makes like a drill.
fn hole(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool.filter(|tool| !cuts_to_centre(&tool.kind)) else { return };
    let straight = view.recipe.orbit.is_none() && view.recipe.origin != Origin::Orbit;
    if !straight || view.recipe.pilot >= tool.diameter.0 - HAIR {
        return;
    }
    let face = view.job.map_or(0.0, |job| job.head.entry_z.0);
    let down = |kind, to: f64| kind == StrokeKind::Feed && to < face - HAIR;
    let Some(stroke) = view.recipe.strokes.iter().position(|stroke| down(stroke.kind, stroke.to)) else { return };
    let aim = Aim::Hole { word: HoleWord::Depth, stroke };
    cx.report(message(tool, face - view.recipe.bottom, aim, cx.units));
}

fn message(tool: &Tool, depth: f64, aim: Aim, units: crate::units::UnitSystem) -> Report {
    let depth = units.length(Millimetres(depth));
    Report::new(aim, format!("{} {} plunges {depth} into material", tool.kind.name(), tool.number))
        .why("its end teeth do not reach the centre (`end_cutting = false`)")
        .advice("enter down a ramp or a helix, from the side, or in a hole drilled before")
}
