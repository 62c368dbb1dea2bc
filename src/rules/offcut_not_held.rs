//! An edge is cut all round and nothing holds the piece that comes loose.
//!
//! ## Why it matters
//! When the last of a full-width cut is through, the offcut, or the slug of an opening, is free while the cutter still
//! turns in the gap: it tilts, jams and tears the edge (common practice, no source). Tabs declared with the edge, or a clamp
//! that stands on the piece, hold it. Where one side was opened before, no piece is left to come loose.
//!
//! ## Fires on
//! The outline of a panel without tabs in one pass all round:
//! ```nc,orbit
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-30 Y105 Z5
//! G0 Z-7
//! G1 X200 F1000
//! G2 X205 Y100 J-5
//! G1 Y0
//! G2 X200 Y-5 I-5
//! G1 X0
//! G2 X-5 Y0 J5
//! G1 Y100 (!)
//! G2 X0 Y105 I5
//! G1 X10
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! Three sides only:
//! ```nc,orbit
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-30 Y105 Z5
//! G0 Z-7
//! G1 X200 F1000
//! G2 X205 Y100 J-5
//! G1 Y0
//! G2 X200 Y-5 I-5
//! G1 X-30
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: leave tabs, clamp the piece, or leave a skin for a last pass.

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{EdgeGroup, Job, Workpiece, Zone, ZoneKind, ZoneShape, contour};
use crate::operation::{CutStyle, EdgeCover, Mark, Survey};

/// The rule.
pub static RULE: Rule = Rule {
    name: "offcut-not-held",
    severity: Severity::Warning,
    summary: "nothing holds the piece that an edge cuts loose",
    checks: &[Check::Program(check), Check::Program(missing::edges), Check::Program(missing::tool)],
};

/// How far a chord may stray from its arc, mm.
const CHORD: f64 = 0.05;
/// Share of an edge that may stay uncut by rounding at its corners; house value.
const CLOSED: f64 = 0.002;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for (index, (edge, cover)) in job.edges.iter().zip(&survey.edges).enumerate() {
        let Some(last) = closes(cover).filter(|_| edge.tabs.is_empty()) else { continue };
        let slot = survey.cuts.iter().any(|cut| cut.edge == Some(index) && cut.style == Some(CutStyle::Slot));
        if slot && leaves_a_piece(edge, last, job) && !clamped(edge, job) {
            report(cx, edge, last);
        }
    }
}

/// The mark that closes a ring of cuts through the part; `None` where it stays open.
fn closes(cover: &EdgeCover) -> Option<&Mark> {
    let open = cover.marks.iter().filter(|mark| mark.through.is_none()).count();
    let closed = open as f64 <= CLOSED * cover.marks.len() as f64;
    cover.marks.iter().filter(|_| closed).max_by_key(|mark| mark.through)
}

/// Whether the cutter leaves something: raw material wider than itself outside, a slug inside an opening.
fn leaves_a_piece(edge: &EdgeGroup, last: &Mark, job: &Job) -> bool {
    let diameter = job.tool(last.tool).map_or(0.0, |tool| tool.diameter.0);
    if !edge.opening {
        return job.workpiece.as_ref().is_some_and(|workpiece: &Workpiece| workpiece.raw_margin.0 > diameter);
    }
    super::tool_wider_than_slot::deepest(&contour::points(&edge.contour, CHORD)) > diameter
}

fn clamped(edge: &EdgeGroup, job: &Job) -> bool {
    let polygon = contour::points(&edge.contour, CHORD);
    let on_piece = |zone: &&Zone| contour::inside(middle(zone), &polygon) == edge.opening;
    job.fixture.zones.iter().filter(|zone| zone.kind == ZoneKind::Clamp).any(|zone| on_piece(&zone))
}

fn middle(zone: &Zone) -> [f64; 2] {
    match zone.shape {
        ZoneShape::Box { x, y } => [(x.0.0 + x.1.0) / 2.0, (y.0.0 + y.1.0) / 2.0],
        ZoneShape::Cylinder { at, .. } => [at.0.0, at.1.0],
    }
}

fn report(cx: &mut Context<'_>, edge: &EdgeGroup, last: &Mark) {
    let piece = if edge.opening { "slug" } else { "offcut" };
    let message = format!("edge {} is cut all round: nothing holds the {piece} from here on", edge.id);
    cx.of_tool(last.tool).report(
        Report::new(Aim::Block(last.block), message)
            .why("no tabs are declared for it, and no clamp stands on it")
            .advice("leave tabs and cut them last, or clamp the piece and declare the clamp"),
    );
}
