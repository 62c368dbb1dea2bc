//! A router stands out too little below the bottom face.
//!
//! ## Why it matters
//! The end teeth and the corner of a cutter are its weakest part and cut with a lip; they must be clear of the last ply of
//! the thickest part, or it is left ragged. How far is the laminate's own (`trim.overhang`). A corner radius or a ball does
//! not count as standing out. Where the cutter does not reach the bottom face at all, `skin-left-uncut` speaks.
//!
//! ## Fires on
//! The panel may be 6.18 mm thick; a tip at -6.3 stands out 0.12 mm, least 0.5.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-6.3
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
//! G0 Z-6.7
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//! A pass that is not meant to go through, and a way over a tab:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-3
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Puts the pass deeper by what is short: every Z word that leads to its height says the new one.

use super::trim::{laminate, level_if, stated, trims};
use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::operation::Stretch;
use crate::process::Kind;
use crate::process::compression::exit_faces;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "overhang-short",
    severity: Severity::Warning,
    summary: "a router stands out too little below the bottom face",
    checks: &[Check::Cut(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// Rounding of depths, mm.
const HAIR: f64 = 1e-6;

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    if !view.tool.is_some_and(|tool| trims(&tool.kind)) {
        return;
    }
    let lacks = |stretch: &Stretch| laminate(view, stretch).filter(|own| own.trim.overhang.is_none());
    // What one laminate lacks is said once; then its stretches need no look.
    let first = |kind: &Kind| view.cut.stretches.get(kind.range.start).and_then(lacks);
    let unsaid = view.readings.kinds.iter().filter_map(first).any(|own| !cx.has_spoken_of(&own.name));
    for (stretch, reading) in level_if(view, |stretch, _| unsaid || lacks(stretch).is_none()) {
        let Some((laminate, overhang)) = laminate(view, stretch).zip(reading.overhang) else { continue };
        if overhang.0 < -HAIR {
            continue;
        }
        let Some(limit) = stated(laminate.trim.overhang.as_ref(), cx, laminate, "overhang") else { continue };
        if overhang.0 >= limit.value.0 - HAIR {
            continue;
        }
        let tip = Millimetres(stretch.z.0);
        let [_, _, thick] = exit_faces(laminate, view.job.head.entry_z);
        let better = tip - (limit.value - overhang);
        let aim = Aim::Block(stretch.first);
        cx.report_worst((view.cut.tool, tip.0.to_bits(), 0), -overhang.0, aim, |units| {
            let z = |height| units.coordinate('Z', height);
            let (is, least) = (units.length(overhang), units.length(limit.value));
            Report::new(aim, format!("stands out {is} below the bottom face, least {least}"))
                .why(format!("tip {}, bottom face of the thickest part {}", z(tip), z(thick)))
                .measured(overhang.0, "mm")
                .limit(limit.value.0, "mm", limit.origin.clone())
                .advice(format!("cut with the tip at {} or lower", units.coordinate_down('Z', better)))
                .remedy(Remedy::Depth(better))
        });
    }
}
