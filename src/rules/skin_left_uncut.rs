//! The deepest pass along an edge leaves a skin of the laminate uncut.
//!
//! ## Why it matters
//! A skin of half a ply is not seen from above; it tears when the part is lifted off and takes plies of the edge with it.
//! The last pass must bring the full diameter below the bottom face of the thickest part. Tabs are meant to stay and are
//! left out, and so are passes that a later one deepens. Only edges that the job declares (`[[edges]]`) are judged.
//!
//! ## Fires on
//! The panel is 6 mm thick; a tip at -5.5 leaves 0.5 mm.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-5.5
//! G1 X220 F1000 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-3
//! G1 X220 F1000
//! G0 Z5
//! G0 X-20
//! G0 Z-6.8
//! G1 X220
//! G0 Z5
//! M30
//! ```
//! A tab left standing, and a shallow groove far from any edge:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X220 Y-5 Z5
//! G0 Z-6.8
//! G1 X108 F1000
//! Z-3
//! X92
//! X80 Z-6.8
//! X-20
//! G0 Z5
//! G0 X20 Y20 Z0.5
//! G1 X60 Z-3
//! X20
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Puts these passes below the thickest part, with the overhang the laminate asks for: every Z word that leads to their
//! height says the new one.

use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::{EdgeGroup, Job};
use crate::operation::{EdgeCover, Mark, Survey};
use crate::process::compression::exit_faces;
use crate::process::laminate_of;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "skin-left-uncut",
    severity: Severity::Error,
    summary: "the deepest pass leaves a skin under an edge",
    checks: &[Check::Program(check), Check::Program(missing::edges), Check::Program(missing::tool)],
};

/// Rounding of depths, mm.
const HAIR: f64 = 1e-6;

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job.filter(|job| job.laminate.is_some()) else { return };
    for (edge, cover) in job.edges.iter().zip(&survey.edges) {
        let mut left: Vec<(&Mark, Skin)> = cover
            .marks
            .iter()
            .filter(|mark| mark.is_cut() && !on_a_tab(mark, edge, job))
            .filter_map(|mark| Some((mark, skin(mark, job)?)))
            .collect();
        left.sort_by_key(|(mark, _)| (mark.block.source, mark.block.span.start, mark.lowest.to_bits()));
        // One report for the marks that one block leaves at one height.
        left.dedup_by_key(|(mark, _)| (mark.block, mark.lowest.to_bits()));
        for (mark, skin) in left {
            report(&skin, mark, edge, cover, cx);
        }
    }
}

/// What a pass leaves.
struct Skin {
    nominal: Millimetres,
    thickest: Millimetres,
    bottom: [Millimetres; 3],
    out: Millimetres,
}

fn skin(mark: &Mark, job: &Job) -> Option<Skin> {
    let laminate = laminate_of(mark.zone, job)?;
    let bottom = exit_faces(laminate, job.head.entry_z);
    let [_, nominal, thick] = bottom;
    let left = mark.lowest - thick.0;
    let out = laminate.trim.overhang.as_ref().map_or(Millimetres(0.0), |limit| limit.value);
    let skin = Skin { nominal: Millimetres(mark.lowest) - nominal, thickest: Millimetres(left), bottom, out };
    (left > HAIR).then_some(skin)
}

/// Whether a mark lies on a tab, or so near to one that the way over it still touches.
pub(super) fn on_a_tab(mark: &Mark, edge: &EdgeGroup, job: &Job) -> bool {
    let own = job.tool(mark.tool).map_or(0.0, |tool| tool.diameter.0);
    let [x, y] = mark.at;
    edge.tabs.iter().any(|(at, width)| libm::hypot(at[0] - x, at[1] - y) <= width / 2.0 + 1.5 * own + 1.0)
}

fn report(skin: &Skin, mark: &Mark, edge: &EdgeGroup, cover: &EdgeCover, cx: &mut Context<'_>) {
    let same = cover.marks.iter().filter(|other| other.lowest == mark.lowest && other.is_cut()).count();
    let length = Millimetres(same as f64 * cover.spacing);
    let aim = Aim::Block(mark.block);
    let zone = u64::try_from(mark.zone.map_or(0, |zone| zone + 1)).unwrap_or(0);
    cx.of_tool(mark.tool).report_worst((mark.tool, mark.lowest.to_bits(), zone), length.0, aim, |units| {
        let z = |height| units.coordinate('Z', height);
        let [_, nominal, thick] = skin.bottom;
        let most = units.length(skin.thickest);
        let message = if skin.nominal.0 > HAIR {
            format!(
                "leaves a skin of {} under edge {}, {most} in the thickest part",
                units.length(skin.nominal),
                edge.id
            )
        } else {
            format!("leaves a skin of {most} under edge {} where the part is thickest", edge.id)
        };
        let better = thick - skin.out;
        Report::new(aim, message)
            .why(format!(
                "full diameter down to {}, bottom face {}, thickest {}",
                z(Millimetres(mark.lowest)),
                z(nominal),
                z(thick)
            ))
            .why(format!("over some {} of the edge, tabs left out", units.length(length)))
            .measured(skin.thickest.0, "mm")
            .limit(0.0, "mm", "laminate thickness and tolerance")
            .advice(format!("cut with the full diameter at {} or lower", units.coordinate_down('Z', better)))
            .remedy(Remedy::Depth(better))
    });
}
