//! A move ends beyond the machine's travel.
//!
//! ## Why it matters
//! The control stops with the tool in the part, or hits its end stops. Limits are program coordinates with the offsets
//! as set, from `machine.travel`.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! G0 X620 (!)
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

use super::{Aim, Check, Context, Meets, Report, Rule, StepView, missing};
use crate::diagnostic::Severity;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "travel-exceeded",
    severity: Severity::Error,
    summary: "a move beyond the machine's travel",
    checks: &[
        Check::Rapid(Meets::TravelEnd, check),
        Check::Feed(Meets::TravelEnd, check),
        Check::Program(missing::travel),
    ],
};

type Travel = Option<(Millimetres, Millimetres)>;

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    let step = view.step;
    let mut ways = step.to.xyz.iter().zip(&job.machine.travel);
    let inside = |(at, travel): (&f64, &Travel)| travel.is_none_or(|(least, most)| least.0 <= *at && *at <= most.0);
    if ways.all(inside) {
        return;
    }
    for (axis, (at, travel)) in step.to.xyz.iter().zip(&job.machine.travel).enumerate() {
        let Some((least, most)) = travel else { continue };
        let passed = (at - most.0).max(least.0 - at);
        if passed <= 1e-9 || !step.to.known.has(axis) {
            continue;
        }
        let bound = if *at > most.0 { most } else { least };
        let letter = ['X', 'Y', 'Z'].get(axis).copied().unwrap_or('Z');
        let here = Millimetres(*at);
        // One tool beyond the ends of one axis is one finding: a wrong unit must not fill pages.
        let cause = (step.state.tool.value, axis as u64, 0);
        let first = cx.speaks_first_of(&format!("{letter} T{}", step.state.tool.value));
        let aim = Aim::Block(step.block);
        cx.report_worst(cause, passed, aim, |units| {
            let beyond = units.length(Millimetres(passed));
            Report::new(aim, format!("{} lies {beyond} beyond the travel", units.coordinate(letter, here)))
                .measured(here.0, "mm")
                .limit(bound.0, "mm", format!("job file: machine.travel.{}", letter.to_ascii_lowercase()))
                .related(Some(aim).filter(|_| !first), "farthest here")
                .advice("move the part or its offset, or shorten the move")
        });
    }
}
