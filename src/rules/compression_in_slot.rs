//! A compression router cuts a full-width slot deeper in fibre than its diameter.
//!
//! ## Why it matters
//! In a slot both helices carry dust towards the crossing, and no side is open to let it out: it packs, and resin heats.
//! A public cutter catalogue for composites limits slots to a depth of one diameter (ap <= D at ae = D); layers of core
//! are not counted, for they take up little force and heat. A side cut with one side open is free of it.
//!
//! ## Fires on
//! 16 mm of glass slotted by a 12 mm compression router:
//! ```nc,trim_sandwich
//! G21 G90 G94 G17 G40 G49 G80
//! T3 M6
//! S12000 M3 M7
//! G0 G43 H3 X-30 Y-6 Z5
//! G0 Z-17
//! G1 X240 F2400 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! The sandwich in a zone of the same panel: 5.6 mm of fibre about 20 mm of foam.
//! ```nc,trim_sandwich
//! G21 G90 G94 G17 G40 G49 G80
//! T3 M6
//! S12000 M3 M7
//! G0 G43 H3 X430 Y206 Z0.5
//! G1 X300 Z-27.5 F2400
//! X430
//! G0 Z5
//! M30
//! ```
//! A finishing cut along the same wall, with the other side open:
//! ```nc,trim_sandwich
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S12000 M3 M7
//! G0 G43 H2 X-30 Y-9 Z5
//! G0 Z-17
//! G1 X240 F2000
//! G0 Z5
//! T3 M6
//! S12000 M3
//! G0 G43 H3 X-30 Y-6 Z5
//! G0 Z-17
//! G1 X240 F3000
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: open one side first with a rougher, or take a router with chip breakers.

use super::trim::{laminate, level};
use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{Laminate, ToolKind};
use crate::units::Millimetres;
use std::ops::Range;

/// The rule.
pub static RULE: Rule = Rule {
    name: "compression-in-slot",
    severity: Severity::Warning,
    summary: "a compression router in a deep full-width slot",
    checks: &[Check::Cut(check), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// Where the limit of one diameter comes from.
const SOURCE: &str = "public cutter catalogue for composites, slot column (ap <= D)";
/// Engagement from which a cut counts as a slot, degrees: nine tenths of the diameter. House value.
const SLOT: f64 = 143.0;

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let Some(tool) = view.tool.filter(|tool| matches!(tool.kind, ToolKind::CompressionRouter { .. })) else { return };
    let most = tool.diameter;
    for (stretch, reading) in level(view) {
        let Some(laminate) = laminate(view, stretch) else { continue };
        let Some((_, engaged)) = stretch.engagement else {
            let why = "without an outline nobody knows how much of the cutter is engaged";
            cx.not_checked(why, "workpiece.outline".to_owned());
            return;
        };
        let depth = fibre_depth(laminate, reading.layers.clone());
        if engaged < SLOT || depth.0 <= most.0 {
            continue;
        }
        let aim = Aim::Block(stretch.first);
        cx.report_worst((tool.number, 0, 0), depth.0, aim, |units| {
            let (is, limit) = (units.length(depth), units.length(most));
            Report::new(aim, format!("full-width slot through {is} of fibre, most {limit}"))
                .why(format!(
                    "engaged over {engaged:.0} degrees: both helices carry dust to the crossing and no side is open"
                ))
                .measured(depth.0, "mm")
                .limit(most.0, "mm", SOURCE)
                .advice("open one side first, or use a router with chip breakers")
        });
    }
}

/// Thickness of the layers cut that are no core.
fn fibre_depth(laminate: &Laminate, layers: Range<usize>) -> Millimetres {
    let cut = laminate.layers.get(layers).unwrap_or_default();
    Millimetres(cut.iter().filter(|layer| !layer.material.class.is_core()).map(|layer| layer.thickness().0).sum())
}
