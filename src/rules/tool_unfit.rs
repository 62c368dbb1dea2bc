//! A tool of a material or point that does not live in a layer of the laminate cuts it.
//!
//! ## Why it matters
//! High-speed steel dulls at once in carbon, with heat, delamination and tear-out; in aramid special points slice the
//! fibres where an ordinary cone leaves fuzz (FAA airframe handbook FAA-H-8083-31, chapter 7, as reproduced in public
//! texts). Aramid between two metal sheets may be drilled with an ordinary twist drill (same source).
//!
//! ## Fires on
//! ```nc,steel_hss
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S2000 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F100 (!)
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
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```

use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{Laminate, MaterialClass, Substrate, Tool, ToolKind};
use crate::operation::HoleWord;

/// The rule.
pub static RULE: Rule = Rule {
    name: "tool-unfit",
    severity: Severity::Error,
    summary: "a tool that does not suit a layer",
    checks: &[Check::Hole(check), Check::Program(missing::laminate)],
};

/// Where both facts come from.
const SOURCE: &str = "FAA-H-8083-31 chapter 7, as reproduced in public texts";

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let passes = cx.layers_cut(view);
    let (Some(tool), Some(laminate)) = (view.tool, view.laminate) else { return };
    for (index, layer) in laminate.layers.iter().enumerate() {
        if !passes.iter().any(|pass| pass.layer == index) {
            continue;
        }
        let class = layer.material.class;
        if class == MaterialClass::Carbon && tool.substrate == Some(Substrate::Hss) {
            report(cx, format!("high-speed steel in `{}`: it dulls at once", layer.name), "carbide or diamond");
        }
        if class == MaterialClass::Aramid && metal_point(tool) && !between_metal(laminate, index) {
            let message = format!("{} in `{}`: it leaves fuzz instead of cutting", tool.kind.name(), layer.name);
            report(cx, message, "a brad or spade point");
        }
    }
}

fn report(cx: &mut Context<'_>, message: String, advice: &str) {
    let aim = Aim::Hole { word: HoleWord::Block, stroke: 0 };
    cx.report(Report::new(aim, message).why(format!("source: {SOURCE}")).advice(format!("use {advice}")));
}

/// Whether the point is one for metal: a plain cone that pushes aramid fibres aside.
fn metal_point(tool: &Tool) -> bool {
    matches!(tool.kind, ToolKind::TwistDrill { .. } | ToolKind::StepDrill { .. })
}

fn between_metal(laminate: &Laminate, index: usize) -> bool {
    let metal = |at: Option<usize>| {
        at.and_then(|at| laminate.layers.get(at)).is_some_and(|layer| layer.material.class.is_metal())
    };
    metal(index.checked_sub(1)) && metal(index.checked_add(1))
}
