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
use super::{Aim, Check, Context, Meets, Report, Rule, StepView, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::{CoolantRule, Job, Laminate};
use crate::motion::TraceId;

/// The rule.
pub static RULE: Rule = Rule {
    name: "coolant-against-rule",
    severity: Severity::Warning,
    summary: "coolant on in a dry layer, or off in a wet one",
    checks: &[Check::State(throughout), Check::Feed(Meets::Metal, in_metal), Check::Program(missing::coolant)],
};

/// A laminate cut dry or wet all through.
fn throughout(view: &StepView<'_>, cx: &mut Context<'_>) {
    match rule(view, cx) {
        Some(CoolantRule::Dry) if is_wet(view) => report(view, cx, "coolant is on where the laminate is cut dry"),
        Some(CoolantRule::Wet) if !is_wet(view) => report(view, cx, "coolant is off where the laminate is cut wet"),
        _ => {}
    }
}

/// A stack whose metal alone is cut wet.
fn in_metal(view: &StepView<'_>, cx: &mut Context<'_>) {
    if rule(view, cx) != Some(CoolantRule::WetInMetal) || is_wet(view) {
        return;
    }
    let Some((job, laminate)) = cx.job.and_then(|job| Some((job, job.laminate.as_ref()?))) else { return };
    let depth = job.head.entry_z.0 - view.step.to.xyz.get(2).copied().unwrap_or(0.0);
    if let Some(metal) = metal_at(laminate, depth) {
        report(view, cx, &format!("coolant is off in `{metal}`, which is cut wet"));
    }
}

/// The laminate's rule, where the tool may cut.
fn rule(view: &StepView<'_>, cx: &Context<'_>) -> Option<CoolantRule> {
    let laminate = cx.job.filter(|_| may_cut(view))?.laminate.as_ref()?;
    laminate.coolant.as_ref().map(|rule| rule.value)
}

fn is_wet(view: &StepView<'_>) -> bool {
    let state = view.step.state;
    state.mist.value || state.flood.value
}

fn report(view: &StepView<'_>, cx: &mut Context<'_>, message: &str) {
    let Some(rule) = cx.job.and_then(|job| job.laminate.as_ref()?.coolant.as_ref()) else { return };
    // One switch left wrong is one cause, however many cuts run under it: the first of them is the place to mend.
    let state = view.step.state;
    let switched = if state.flood.is_stated() { &state.flood } else { &state.mist };
    let cause = u64::from(switched.source) << 32 | u64::from(switched.at);
    if cx.swap(cause) == Some(cause) {
        return;
    }
    let code = if is_wet(view) { "M9" } else { "M8" };
    let report = Report::new(Aim::Block(view.step.block), message)
        .why(format!("rule from {}", rule.origin))
        .related(Aim::set(switched), "coolant last switched here");
    // With the tip in the hole, or in strokes that other holes share, the code belongs further up, where a person puts it.
    let inside = is_inside(view, cx.job);
    cx.report(if inside {
        report.advice(format!("{code} before the tool is taken to this hole"))
    } else {
        report.advice(format!("{code} before this cut")).remedy(Remedy::LineBefore(code.to_owned()))
    });
}

/// Whether the cut begins below the entry face or in a subprogram.
fn is_inside(view: &StepView<'_>, job: Option<&Job>) -> bool {
    let step = view.step;
    let below = |job: &Job| step.from.point().is_some_and(|[_, _, z]| z < job.head.entry_z.0);
    step.block.trace != TraceId::default() || job.is_some_and(below)
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
