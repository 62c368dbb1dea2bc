//! Coolant runs in a layer that is to be cut dry, or is missing in a metal that is to be cut wet.
//!
//! ## Why it matters
//! Moisture gets into the laminate and makes paste of the dust; titanium cut dry smears and hardens. Which of the two
//! holds is the laminate's own rule, `laminate.NAME.coolant`.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7 M8
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318 (!)
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
//!
//! ## Remedy
//! Switches the coolant on a line before the cut.

use super::support::may_cut;
use super::{Aim, Check, Context, Report, Rule, StepView, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::{CoolantRule, Laminate};

/// The rule.
pub static RULE: Rule = Rule {
    name: "coolant-against-rule",
    severity: Severity::Warning,
    summary: "coolant on in a dry layer, or off in a wet one",
    checks: &[Check::Feed(check), Check::Program(missing::coolant)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let Some(job) = cx.job.filter(|_| may_cut(view)) else { return };
    let Some(laminate) = job.laminate.as_ref() else { return };
    let Some(rule) = laminate.coolant.as_ref() else { return };
    let state = view.step.state;
    let wet = state.mist.value || state.flood.value;
    let message = match rule.value {
        CoolantRule::Dry if wet => "coolant is on where the laminate is cut dry".to_owned(),
        CoolantRule::Wet if !wet => "coolant is off where the laminate is cut wet".to_owned(),
        CoolantRule::WetInMetal if !wet => {
            let depth = job.head.entry_z.0 - view.step.to.xyz.get(2).copied().unwrap_or(0.0);
            let Some(metal) = metal_at(laminate, depth) else { return };
            format!("coolant is off in `{metal}`, which is cut wet")
        }
        CoolantRule::Dry | CoolantRule::Wet | CoolantRule::WetInMetal => return,
    };
    // One switch left wrong is one cause, however many cuts run under it: the first of them is the place to mend.
    let switched = if state.flood.is_stated() { &state.flood } else { &state.mist };
    let cause = u64::from(switched.source) << 32 | u64::from(switched.at);
    if cx.swap(cause) == Some(cause) {
        return;
    }
    cx.report(
        Report::new(Aim::Block(view.step.block), message)
            .why(format!("rule from {}", rule.origin))
            .related(Aim::set(switched), "coolant last switched here")
            .advice(if wet { "M9 before this cut" } else { "M8 before this cut" })
            .remedy(Remedy::LineBefore(if wet { "M9" } else { "M8" }.to_owned())),
    );
}

/// The metal layer the tip is in at `depth` below the entry face.
fn metal_at(laminate: &Laminate, depth: f64) -> Option<&str> {
    let mut top = 0.0;
    laminate.layers.iter().find_map(|layer| {
        let bottom = top + layer.thickness().0;
        let inside = depth > top && (depth <= bottom || layer == laminate.layers.last()?);
        top = bottom;
        (inside && layer.material.class.is_metal()).then_some(layer.name.as_str())
    })
}
