//! A feed move below the face enters a zone that must be kept for test coupons.
//!
//! ## Why it matters
//! Coupons cut from the offcut prove the laminate of that very part; one that is nicked cannot be tested, and there is no
//! second one. The tool's radius is counted and the position tolerance of the zone taken off. Rapids and moves above the
//! entry face do not count.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S10000 M3 M7
//! G0 G43 H12 X80 Y150 Z5
//! G4 P2
//! G1 Z-6.5 F600
//! X120 F1200 (!)
//! G0 Z40
//! M30
//! ```
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X90 Y150 Z5
//! G4 P2
//! G81 X130 Z-8.5 R2 F318 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S10000 M3 M7
//! G0 G43 H12 X96 Y-20 Z5
//! G4 P2
//! G1 Z-6.5 F600
//! Y320 F1200
//! G0 Z40
//! X130 Y150
//! G1 Z1 F600
//! Y200
//! G0 Z40
//! M30
//! ```

use super::clearance_short::{as_drawn, tell, tip};
use super::{Aim, Check, Context, Report, Rule, missing};
use crate::diagnostic::Severity;
use crate::job::{Zone, ZoneKind};
use crate::operation::{Clearance, Obstacle, Survey};
use crate::units::{Millimetres, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "coupon-cut",
    severity: Severity::Error,
    summary: "a cut into material kept for test coupons",
    checks: &[Check::Program(check), Check::Program(missing::zones), Check::Program(missing::tool)],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    let (units, face) = (cx.units, job.head.entry_z.0);
    for hit in &survey.clearances.hits {
        let Obstacle::Zone(index) = hit.worst.obstacle else { continue };
        let Some(zone) = job.fixture.zones.get(index).filter(|zone| zone.kind == ZoneKind::Coupon) else { continue };
        let worst = hit.worst;
        let message = message(worst, zone, face, units);
        let report = Report::new(Aim::Block(worst.block), message)
            .why(as_drawn(worst, zone, units))
            .why(tip(hit, units))
            .measured(-worst.gap, "mm")
            .limit(0.0, "mm", format!("job file: fixture, zone {}", zone.id))
            .advice("lead in and out on the other side, or lift over the zone");
        tell(hit, &report, cx);
    }
}

/// How the tool meets the zone; where the way out is shortest upwards, the cut runs from side to side.
fn message(worst: Clearance, zone: &Zone, face: f64, units: UnitSystem) -> String {
    let (tool, id) = (worst.tool, &zone.id);
    let into = units.length(Millimetres(-worst.gap));
    let [_, _, z] = worst.at;
    match (worst.axis, -worst.gap > zone.tolerance.0) {
        (2, true) => {
            let below = units.length(Millimetres(face - z));
            format!("T{tool} cuts right across coupon zone `{id}`, tip {below} below the face")
        }
        (_, true) => format!("T{tool} cuts {into} into coupon zone `{id}`"),
        (_, false) => format!("T{tool} comes {into} too close to coupon zone `{id}`"),
    }
}
