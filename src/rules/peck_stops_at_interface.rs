//! A peck ends within 0.3 mm of where two layers of different kind may meet.
//!
//! ## Why it matters
//! The pause and the re-entry work on the interface: plies lift into the gap and chips get in. The interface lies where
//! tolerance lets it; 0.3 mm beyond is a house value.
//!
//! ## Fires on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T22 M6
//! S490 M3 M7 M8
//! G0 G43 H22 X0 Y0 Z5
//! G4 P2
//! G98 G83 Z-13.3 R2 Q2 F29.4 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,stack
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T22 M6
//! S490 M3 M7 M8
//! G0 G43 H22 X0 Y0 Z5
//! G4 P2
//! G98 G81 Z-13.3 R2 F29.4
//! G80
//! M30
//! ```

use super::support::peck_bottoms;
use super::{Aim, Check, Context, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::Laminate;
use crate::operation::HoleWord;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "peck-stops-at-interface",
    severity: Severity::Warning,
    summary: "a peck that stops at an interface",
    checks: &[Check::Hole(check), Check::Program(missing::laminate)],
};

/// How far beyond its tolerance an interface is kept clear of peck bottoms, mm; house value.
const MARGIN: f64 = 0.3;

fn check(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(job), Some(laminate)) = (view.job, view.laminate) else { return };
    let face = job.head.entry_z.0;
    for (stroke, z) in peck_bottoms(view.recipe) {
        let Some((names, thin, thick)) = interface_near(laminate, face - z) else { continue };
        let units = cx.units;
        let height = |depth: f64| units.coordinate('Z', Millimetres(face - depth));
        let message = format!("a peck stops at {}, where {names} may meet", units.coordinate('Z', Millimetres(z)));
        return cx.report(
            Report::new(Aim::Hole { word: HoleWord::Depth, stroke }, message)
                .why(format!(
                    "the interface lies between {} and {} by the laminate's tolerance",
                    height(thin),
                    height(thick)
                ))
                .why(format!(
                    "kept clear from {} to {}: {} beyond it, a house value",
                    height(thin - MARGIN),
                    height(thick + MARGIN),
                    units.length(Millimetres(MARGIN)),
                ))
                .advice("let the first peck in the next layer end deeper, or stop the last one higher"),
        );
    }
}

/// The interface of two unlike layers that `depth` lies near, with its least and most depth.
fn interface_near(laminate: &Laminate, depth: f64) -> Option<(String, f64, f64)> {
    laminate.layers.windows(2).enumerate().find_map(|(index, pair)| {
        let [above, below] = pair else { return None };
        let (thin, thick) = laminate.span_of(index + 1);
        let near = depth >= thin.0 - MARGIN && depth <= thick.0 + MARGIN;
        let unlike = above.material.class.is_metal() != below.material.class.is_metal();
        (near && unlike).then(|| (format!("`{}` and `{}`", above.name, below.name), thin.0, thick.0))
    })
}
