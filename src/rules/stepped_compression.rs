//! A compression router steps down in passes, so that its upper passes cut with the up-cut part only.
//!
//! ## Why it matters
//! The opposed helices press both faces inwards only where the crossing lies in the material. A pass that stays shallower
//! than the up-cut length has its crossing above the material's top: it pulls every ply it cuts upwards and lifts the face
//! (plain geometry). A compression router is meant for one pass through.
//!
//! ## Fires on
//! A first pass of 3 mm with an up-cut of 4.5 mm:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T1 M6
//! S10000 M3 M7
//! G0 G43 H1 X-20 Y105 Z5
//! G0 Z-3
//! G1 X220 F1000 (!)
//! G0 Z5
//! G0 X-20
//! G0 Z-7
//! G1 X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T1 M6
//! S10000 M3 M7
//! G0 G43 H1 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//! The same passes with a plain router:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-3
//! G1 X220 F1000
//! G0 Z5
//! G0 X-20
//! G0 Z-7
//! G1 X220
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: one pass through, or a router of one hand.

use super::trim::{LEVEL, laminate, level};
use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::ToolKind;
use crate::process::compression::exit_faces;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "stepped-compression",
    severity: Severity::Warning,
    summary: "a compression router steps down in passes",
    checks: &[Check::Cut(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some(ToolKind::CompressionRouter { up_cut, .. }) = view.tool.map(|tool| &tool.kind) else { return };
    for (stretch, _) in level(view) {
        let Some(laminate) = laminate(view, stretch) else { continue };
        let (tip, top) = (Millimetres(stretch.z.0), Millimetres(stretch.top));
        let [_, bottom, _] = exit_faces(laminate, view.job.head.entry_z);
        let crossing = tip + *up_cut;
        if tip.0 <= bottom.0 + LEVEL || crossing.0 <= top.0 + LEVEL {
            continue;
        }
        let aim = Aim::Block(stretch.first);
        cx.report_worst((view.cut.tool, 0, 0), (crossing - top).0, aim, |units| {
            let (depth, up_cut) = (units.length(top - tip), units.length(*up_cut));
            Report::new(aim, format!("pass of {depth} with an up-cut of {up_cut}: up-cut all over"))
                .why(format!(
                    "tip {}, crossing {}, top of the material {}",
                    units.coordinate('Z', tip),
                    units.coordinate('Z', crossing),
                    units.coordinate('Z', top)
                ))
                .measured((top - tip).0, "mm")
                .limit(up_cut_mm(view), "mm", "plain geometry")
                .advice("cut through in one pass, or take a router of one hand for the upper passes")
        });
    }
}

fn up_cut_mm(view: &CutView<'_>) -> f64 {
    match view.tool.map(|tool| &tool.kind) {
        Some(ToolKind::CompressionRouter { up_cut, .. }) => up_cut.0,
        _ => 0.0,
    }
}
