//! Tools come to a hole in another order than its group lists: the reamer before the drill.
//!
//! ## Why it matters
//! A reamer that has to drill chips its lead; a pilot after the drill drills air. Where the group lists no tools, a
//! reamer must not come before a drill.
//!
//! ## Fires on
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T8 M6
//! S4000 M3 M7
//! G0 G43 H8 X0 Y0 Z5
//! G4 P2
//! G85 X0 Y0 Z-9 R2 F150 (!)
//! G80
//! G0 Z50
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X0 Y0 Z5
//! G4 P2
//! G81 X0 Y0 Z-8.5 R2 F150
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,drawn
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X0 Y0 Z5
//! G4 P2
//! G81 X0 Y0 Z-8.5 R2 F150
//! X40 Y40
//! X0 Y60
//! X100 Y0 Z-4.803
//! G80
//! G0 Z50
//! T8 M6
//! S4000 M3
//! G0 G43 H8 X0 Y0 Z5
//! G4 P2
//! G85 X0 Y0 Z-9 R2 F150
//! X40 Y40
//! G80
//! G0 Z50
//! T10 M6
//! S1500 M3
//! G0 G43 H10 X0 Y60 Z5
//! G4 P2
//! G82 X0 Y60 Z-3 R2 P0.2 F60
//! G80
//! G0 Z50
//! M30
//! ```

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{HoleGroup, Job, ToolKind};
use crate::operation::{HoleWord, Survey};

/// The rule.
pub static RULE: Rule = Rule {
    name: "hole-order",
    severity: Severity::Error,
    summary: "tools in the wrong order at a hole",
    checks: &[Check::Program(check), Check::Program(missing::drawing)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for (drawn, made) in &survey.drawing.made {
        let Some(group) = job.holes.get(drawn.group) else { continue };
        let tools: Vec<(u32, u32)> = made
            .iter()
            .filter_map(|index| Some((*index, survey.recipe_of(survey.holes.get(*index as usize)?)?.tool)))
            .collect();
        for pair in tools.windows(2) {
            let [(index, first), (after, second)] = pair else { continue };
            let (Some(a), Some(b)) = (rank(job, group, *first), rank(job, group, *second)) else { continue };
            if a <= b {
                continue;
            }
            let message = format!("tool {first} works before tool {second} here, it belongs after it");
            cx.report(
                Report::new(Aim::HoleAt { index: *index, word: HoleWord::Block }, message)
                    .related(Some(Aim::HoleAt { index: *after, word: HoleWord::Block }), "this should come first")
                    .advice("change the order of the operations"),
            );
        }
    }
}

/// Place of a tool in the order at a hole; `None` when it cannot be told.
fn rank(job: &Job, group: &HoleGroup, tool: u32) -> Option<usize> {
    if let Some(place) = group.tools.iter().position(|listed| *listed == tool) {
        return Some(place);
    }
    if !group.tools.is_empty() {
        return None;
    }
    Some(match job.tool(tool)?.kind {
        ToolKind::Reamer { .. } => 1,
        ToolKind::Countersink { .. } => return None,
        ToolKind::TwistDrill { .. }
        | ToolKind::StraightFluteDrill { .. }
        | ToolKind::MultiAngleDrill { .. }
        | ToolKind::StepDrill { .. }
        | ToolKind::SpadeDrill { .. }
        | ToolKind::DrillReamer { .. }
        | ToolKind::CoreDrill { .. }
        | ToolKind::BradPointDrill { .. }
        | ToolKind::EndMill { .. }
        | ToolKind::Router { .. }
        | ToolKind::CompressionRouter { .. }
        | ToolKind::SerratedRougher { .. }
        | ToolKind::BallMill => 0,
    })
}
