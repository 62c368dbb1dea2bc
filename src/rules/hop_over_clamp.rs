//! A rapid between holes passes over a clamp, post or keep-out lower than its top.
//!
//! ## Why it matters
//! G99 retracts only to R, so the next positioning rapid runs into whatever stands higher. Boxes come from `[fixture]`;
//! tool radius and position tolerance are counted. The way is a straight line, or the bent one of a machine whose
//! `rapid_style` is `axis-by-axis`.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X30 Y0 Z5
//! G4 P2
//! G0 X30 Y0 Z5
//! G0 X70 (!)
//! M30
//! ```
//!
//! The clamp stands where it stands, also when G52 or G92 has moved the origin:
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X30 Y0 Z5
//! G4 P2
//! G52 X0 Y-300
//! G0 X30 Y300 Z5
//! G0 X70 (!)
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X30 Y0 Z25
//! G4 P2
//! G0 X30 Y0 Z25
//! G0 X70
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X30 Y20 Z5
//! G4 P2
//! G0 X30 Y20 Z5
//! G0 X70
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X30 Y300 Z5
//! G4 P2
//! G52 X0 Y300
//! G0 X30 Y0 Z5
//! G0 X70
//! M30
//! ```
//!
//! ## Remedy
//! Retracts above the clamp before the hop.

use super::{Aim, Check, Context, Meets, Report, Rule, StepView, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::{Zone, ZoneKind};
use crate::operation::{rapid_legs, sweeps_into};
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "hop-over-clamp",
    severity: Severity::Error,
    summary: "a rapid lower than a clamp in its way",
    checks: &[Check::Rapid(Meets::Zone, check), Check::Program(missing::zones)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let Some(job) = cx.job.filter(|_| view.near_zone) else { return };
    let step = view.step;
    let sideways = step.from.xyz.first() != step.to.xyz.first() || step.from.xyz.get(1) != step.to.xyz.get(1);
    if !sideways {
        return;
    }
    let (Some(from), Some(to)) = (step.from.point(), step.to.point()) else { return };
    let (from, to) = (view.placed(from), view.placed(to));
    let radius = view.tool.map_or(0.0, |tool| tool.diameter.0 / 2.0);
    let ([x0, y0, _], [x1, y1, _]) = (from, to);
    // However its axes run, a rapid stays in the box of its ends: most zones lie outside.
    let beside = |zone: &&Zone| zone.is_beside([x0, y0], [x1, y1], radius + zone.tolerance.0);
    for zone in job.fixture.zones.iter().filter(|zone| zone.kind != ZoneKind::Coupon).filter(beside) {
        let (points, count) = rapid_legs(&job.machine, from, to);
        let points = points.get(..count).unwrap_or_default();
        let legs = points.iter().zip(points.iter().skip(1));
        if let Some(short) = legs.filter_map(|(from, to)| overlap(zone, *from, *to, radius)).reduce(f64::max) {
            report(cx, view, zone, from, short);
        }
    }
}

/// How far the lower end of the rapid lies under the zone's top, where the tool passes it; `None` when it clears.
fn overlap(zone: &Zone, from: [f64; 3], to: [f64; 3], radius: f64) -> Option<f64> {
    let ([x0, y0, z0], [x1, y1, z1]) = (from, to);
    let top = zone.z.1.map_or(f64::INFINITY, |top| top.0 + zone.tolerance.0);
    let low = z0.min(z1);
    let near = zone.is_within([x0, y0], [x1, y1], radius + zone.tolerance.0);
    (near && low < top && sweeps_into(zone, radius, from, to)).then_some(top - low)
}

fn report(cx: &mut Context<'_>, view: &StepView<'_>, zone: &Zone, from: [f64; 3], short: f64) {
    let units = cx.units;
    let [_, _, z] = from;
    let top = zone.z.1.unwrap_or(Millimetres(f64::INFINITY));
    let here = units.coordinate('Z', Millimetres(z));
    let message = format!(
        "rapid at {here} passes {} `{}`, which stands up to {}",
        zone.kind.word(),
        zone.id,
        units.coordinate('Z', top)
    );
    cx.report(
        Report::new(Aim::Block(view.step.block), message)
            .why(format!(
                "short by {}, position tolerance {} counted",
                units.length(Millimetres(short)),
                units.length(zone.tolerance)
            ))
            .measured(z, "mm")
            .limit(top.0 + zone.tolerance.0, "mm", format!("job file: fixture, zone {}", zone.id))
            .advice(format!(
                "retract above it before this move (G98, or a higher Z); a patch leaves {} of air, a house value, \
                 rounded up to the program's digits",
                units.length(Millimetres(CLEAR))
            ))
            .remedy(Remedy::RetractTo(Millimetres(top.0 + zone.tolerance.0 + CLEAR))),
    );
}

/// Air a patch leaves over a clamp, mm: a house value.
const CLEAR: f64 = 5.0;
