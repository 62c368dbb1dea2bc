//! A tool works at a hole whose group does not list it.
//!
//! ## Why it matters
//! The drawing's method names pilot, drill and reamer; another tool there is a slip in the hole table or the tool call.
//! Groups without a tool list are not judged.
//!
//! ## Fires on
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
//! T9 M6
//! S6366 M3
//! G0 G43 H9 X0 Y0 Z5
//! G4 P2
//! G81 X0 Y0 Z-8.5 R2 F150 (!)
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
use crate::operation::{HoleWord, Survey};

/// The rule.
pub static RULE: Rule = Rule {
    name: "hole-tool-wrong",
    severity: Severity::Error,
    summary: "a tool the hole group does not list",
    checks: &[Check::Program(check), Check::Program(missing::drawing)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for (index, drawn) in survey.drawing.of_hole.iter().enumerate() {
        let Some(group) = drawn.and_then(|drawn| job.holes.get(drawn.group)) else { continue };
        let tool = survey.holes.get(index).and_then(|hole| survey.recipe_of(hole)).map_or(0, |recipe| recipe.tool);
        if group.tools.is_empty() || group.tools.contains(&tool) || tool == 0 {
            continue;
        }
        let listed: Vec<String> = group.tools.iter().map(|number| format!("T{number}")).collect();
        let index = u32::try_from(index).unwrap_or(u32::MAX);
        let message = format!("tool {tool} works at a hole of group {}, which lists {}", group.id, listed.join(", "));
        cx.report(
            Report::new(Aim::HoleAt { index, word: HoleWord::Block }, message)
                .advice("correct the tool call, or add the tool to the group"),
        );
    }
}
