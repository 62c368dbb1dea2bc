//! A cutter goes down a ramp or a helix steeper than the laminate allows.
//!
//! ## Why it matters
//! On a ramp the end of the cutter works as well as its side: steeper than the end teeth can clear, it is pressed down and
//! drives the plies apart. The steepest ramp is the laminate's own (`trim.ramp`); a helix of pitch p on a circle of
//! diameter d goes down at atan(p / (pi d)) (plain geometry). Straight down is `plunge-into-material`.
//!
//! ## Fires on
//! 6 mm over 40 mm of way is 8.5 degrees; the panel allows 5.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X80 Y50 Z0
//! G1 X120 Z-6 F1000 (!)
//! X80
//! G0 Z5
//! M30
//! ```
//! A helix on a circle of 6 mm with a pitch of 3 mm, 9 degrees:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X50 Y50 Z1
//! G1 X53 F300
//! G3 X53 I-3 Z-2 (!)
//! G3 X53 I-3 Z-5
//! G3 X53 I-3 Z-8
//! G3 X53 I-3
//! G1 X50
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! 3 mm over 40 mm, then the other way; and steeply down in air:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X60 Y50 Z20
//! G1 X80 Z0 F2000
//! G1 X120 Z-3 F1000
//! X80 Z-6
//! X120
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! None: a longer ramp needs room that only the programmer can give.

use super::trim::{cause, stated, stretches_if, trims};
use super::{Aim, Check, Context, CutView, HoleView, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{Laminate, Limit};
use crate::operation::{HoleWord, Path, Stretch};
use crate::process::wall::Helix;
use crate::process::{Kind, laminate_of};
use crate::units::{Degrees, Millimetres, trimmed};

/// The rule.
pub static RULE: Rule = Rule {
    name: "ramp-too-steep",
    severity: Severity::Warning,
    summary: "a ramp or helix steeper than the laminate allows",
    checks: &[Check::Cut(check), Check::Hole(helix), Check::Program(missing::trimming), Check::Program(missing::tool)],
};

/// Flatter ways are level, degrees; house value.
const LEVEL: f64 = 0.05;
/// Degrees by which a ramp may exceed its limit: posts round Z to their last digit. House value.
const ROUNDING: f64 = 0.02;

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    if !view.tool.is_some_and(|tool| trims(&tool.kind)) {
        return;
    }
    let mut known = None;
    let ramps = |stretch: &Stretch, kind: &Kind| {
        stretch.path != Path::Plunge && kind.steepest.0 > LEVEL && !kind.reading.core_only
    };
    for (_, stretch) in stretches_if(view, ramps).filter(|(_, stretch)| stretch.descent > LEVEL) {
        let same = known.filter(|(zone, _)| *zone == stretch.zone).map(|(_, limit)| limit);
        let stated = same.unwrap_or_else(|| laminate_of(stretch.zone, view.job).and_then(|own| limit(own, cx)));
        known = Some((stretch.zone, stated));
        let Some(limit) = stated else { continue };
        let ramp = Degrees(stretch.descent);
        if ramp.0 <= limit.value.0 + ROUNDING {
            continue;
        }
        let aim = Aim::Block(stretch.first);
        cx.report_worst(cause(view, 0.0, 0), ramp.0, aim, |_| report(aim, "ramp", ramp, limit));
    }
}

fn helix(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(orbit), Some(laminate)) = (view.recipe.orbit, view.laminate) else { return };
    if orbit.pitch <= 0.0 || orbit.diameter <= 0.0 {
        return;
    }
    let Some(limit) = limit(laminate, cx) else { return };
    let ramp = Helix::from(orbit).ramp();
    if ramp.0 <= limit.value.0 + ROUNDING {
        return;
    }
    let aim = Aim::Hole { word: HoleWord::Block, stroke: 0 };
    let (pitch, diameter) = (cx.units.length(Millimetres(orbit.pitch)), cx.units.length(Millimetres(orbit.diameter)));
    let line = format!("pitch {pitch} on a circle of {diameter}: atan({pitch} / (pi {diameter}))");
    cx.report(report(aim, "helix", ramp, limit).why(line));
}

fn limit<'l>(laminate: &'l Laminate, cx: &mut Context<'_>) -> Option<&'l Limit<Degrees>> {
    stated(laminate.trim.ramp.as_ref(), cx, laminate, "ramp")
}

fn report(aim: Aim, what: &str, ramp: Degrees, limit: &Limit<Degrees>) -> Report {
    let (is, most) = (trimmed(ramp.0, 2), trimmed(limit.value.0, 2));
    Report::new(aim, format!("{what} of {is} degrees into material, most {most}"))
        .measured(ramp.0, "deg")
        .limit(limit.value.0, "deg", limit.origin.clone())
        .advice("make the way down longer, or take more turns with a smaller pitch")
}
