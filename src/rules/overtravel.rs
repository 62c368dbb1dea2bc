//! The tool goes on into the table, through the backing, or into a clamp or post under the hole.
//!
//! ## Why it matters
//! A ruined vacuum table, a broken point, a part lifted off its datum. Faces come from `[fixture]` and carry their
//! position tolerance. What a milling tool runs into on its way is `clearance-short`'s.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-41 R2 F150 (!)
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
//! G81 X0 Y100 Z-8.5 R2 F150 (!)
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

use super::{Aim, Check, Context, HoleView, Report, Rule, missing, support};
use crate::diagnostic::Severity;
use crate::job::{Fixture, Job, Zone, ZoneKind};
use crate::operation::{AXIS_Z, HoleWord};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "overtravel",
    severity: Severity::Error,
    summary: "the tool reaches table, backing or clamp",
    checks: &[
        Check::Hole(against_faces),
        Check::Place(against_zones),
        Check::Program(missing::obstacles),
        Check::Program(missing::tool),
    ],
};

/// The job, when the tool goes straight down to a height that is known.
fn drilled<'v>(view: &HoleView<'v>) -> Option<&'v Job> {
    let drills = support::plunges(view) && view.recipe.heights_known && view.recipe.axis == AXIS_Z;
    view.job.filter(|_| drills)
}

fn against_faces(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(job) = drilled(view) else { return };
    let bottom = view.recipe.bottom;
    let backing = job
        .laminate
        .as_ref()
        .zip(job.fixture.backing)
        .map(|(laminate, backing)| (job.head.entry_z.0 - laminate.thickness().0 - backing.0, "the backing"));
    let table = job.fixture.table_z.map(|z| (z.0, "the table"));
    for (face, what) in [table, backing].into_iter().flatten() {
        if bottom < face {
            report(cx, what, Millimetres(bottom), Millimetres(face));
        }
    }
}

fn against_zones(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some(job) = drilled(view).filter(|_| view.near_zone) else { return };
    let bottom = view.recipe.bottom;
    let radius = view.tool.map_or(0.0, |tool| tool.diameter.0 / 2.0);
    for zone in hits(&job.fixture, view.hole.x, view.hole.y, radius) {
        if let (Some(top), true) = (zone.z.1, solid(zone))
            && bottom < top.0 + zone.tolerance.0
        {
            report(cx, &format!("{} {}", zone.kind.word(), zone.id), Millimetres(bottom), top);
        }
    }
}

fn report(cx: &mut Context<'_>, what: &str, bottom: Millimetres, face: Millimetres) {
    let units = cx.units;
    let message = format!(
        "{} runs into {what}, which stands up to {}",
        units.coordinate('Z', bottom),
        units.coordinate('Z', face),
    );
    cx.report(
        Report::new(Aim::Hole { word: HoleWord::Depth, stroke: 0 }, message)
            .measured(bottom.0, "mm")
            .limit(face.0, "mm", "job file: fixture")
            .advice("end the stroke higher, or move what stands there"),
    );
}

fn solid(zone: &Zone) -> bool {
    zone.kind != ZoneKind::Coupon
}

fn hits(fixture: &Fixture, x: f64, y: f64, radius: f64) -> impl Iterator<Item = &Zone> {
    fixture.zones.iter().filter(move |zone| zone.is_within([x, y], [x, y], radius + zone.tolerance.0))
}
