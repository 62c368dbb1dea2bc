//! A hole lies under or beside a clamp so close that the tool, on its way to the R plane, strikes it.
//!
//! ## Why it matters
//! The clamp is hit at rapid. Clamp boxes come from `[fixture]` and carry their position tolerance. What a milling
//! tool runs into on its way is `clearance-short`'s.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G0 Z60
//! G81 X50 Y0 Z-8.5 R2 F150 (!)
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
//! G0 Z60
//! G81 X65 Y0 Z-8.5 R2 F150
//! G80
//! M30
//! ```

use super::{Aim, Check, Context, HoleView, Report, Rule, missing, support};
use crate::diagnostic::Severity;
use crate::job::ZoneKind;
use crate::operation::HoleWord;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "retract-below-clamp",
    severity: Severity::Error,
    summary: "R plane below a clamp at the hole",
    checks: &[Check::Place(check), Check::Program(missing::zones)],
};

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(job) = view.job.filter(|_| view.near_zone && support::plunges(view)) else { return };
    let here = [view.hole.x, view.hole.y];
    let radius = view.tool.map_or(0.0, |tool| tool.diameter.0 / 2.0);
    for zone in job.fixture.zones.iter().filter(|zone| matches!(zone.kind, ZoneKind::Clamp | ZoneKind::KeepOut)) {
        if !zone.is_within(here, here, radius + zone.tolerance.0) {
            continue;
        }
        let gap = zone.clearance_to(here, here) - radius - zone.tolerance.0;
        let top = zone.z.1.map_or(f64::INFINITY, |top| top.0 + zone.tolerance.0);
        if view.recipe.start >= top {
            continue;
        }
        let units = cx.units;
        let start = units.coordinate('Z', Millimetres(view.recipe.start));
        let message = format!(
            "the tool comes down to {start} beside clamp {}, {} too close",
            zone.id,
            units.length(Millimetres(-gap))
        );
        cx.report(
            Report::new(Aim::Hole { word: HoleWord::Retract, stroke: 0 }, message)
                .why(format!(
                    "clamp tolerance {} and tool radius {} counted",
                    units.length(zone.tolerance),
                    units.length(Millimetres(radius))
                ))
                .measured(gap, "mm")
                .limit(0.0, "mm", format!("job file: fixture, zone {}", zone.id))
                .advice("move the clamp, or drill this hole after it is moved"),
        );
    }
}
