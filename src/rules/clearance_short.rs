//! Tool or holder runs into a clamp, post, keep-out, the table or through the backing, or the holder into the part.
//!
//! ## Why it matters
//! A holder on a clamp lifts the part or bends the spindle. Cutting part, shank and holder are swept as cylinders and cones
//! along every rapid and feed, and the position tolerance of `[fixture]` zones is taken off the distance. Sideways rapids
//! of the cutting part are `hop-over-clamp`'s, strokes that make a hole `overtravel`'s and `retract-below-clamp`'s.
//! In a hole deeper than the tool stands out, what is wider than the hole runs into the part; along edges and in cuts
//! whose engagement is known, what is wider than the tool.
//!
//! The holder needs `stick_out` and `holder`. Distances along arcs are right to 0.02 mm, others to 0.001 mm.
//!
//! ## Fires on
//! ```nc,clamped
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y18 Z40
//! G4 P2
//! G81 X50 Y18 Z-8.5 R2 F318 (!)
//! G80
//! M30
//! ```
//!
//! ```nc,clamped
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S10000 M3 M7
//! G0 G43 H12 X0 Y-12 Z40
//! G4 P2
//! G1 Z-7 F600
//! X100 F1200 (!)
//! G0 Z40
//! M30
//! ```
//!
//! ```nc,clamped
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X-60 Y-60 Z40
//! G4 P2
//! G81 X-60 Y-60 Z-31 R2 F318 (!)
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,clamped
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y18 Z40
//! G4 P2
//! G81 X50 Y32 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//!
//! ```nc,clamped
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S10000 M3 M7
//! G0 G43 H12 X0 Y-15.1 Z40
//! G4 P2
//! G1 Z-7 F600
//! X100 F1200
//! G0 Z40
//! M30
//! ```

use super::{Aim, Check, Context, HoleView, Report, Rule, Subject, missing};
use crate::diagnostic::Severity;
use crate::job::{Job, Zone, ZoneKind};
use crate::operation::{BodyPart, Clearance, ClearanceGap, Hit, HoleWord, Obstacle, Sink, Survey, holder_in_hole};
use crate::units::{Millimetres, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "clearance-short",
    severity: Severity::Error,
    summary: "tool or holder runs into what stands around the part",
    checks: &[
        Check::Hole(hole),
        Check::Program(check),
        Check::Program(missing::obstacles),
        Check::Program(missing::tool),
    ],
};

fn check(survey: &Survey, cx: &mut Context<'_>) {
    let Some(job) = cx.job else { return };
    for gap in &survey.clearances.gaps {
        note(*gap, job, cx);
    }
    for hit in &survey.clearances.hits {
        let report = match hit.worst.obstacle {
            Obstacle::Zone(index) => job.fixture.zones.get(index).and_then(|zone| zone_report(hit, zone, cx.units)),
            Obstacle::Table => Some(floor_report(hit, "the table", cx.units)),
            Obstacle::Backing => Some(floor_report(hit, "the far side of the backing", cx.units)),
            Obstacle::Part => {
                let Clearance { tool, gap, block, at: [_, _, z], .. } = hit.worst;
                Some(part_report(Aim::Block(block), (tool, -gap, z), cx.units))
            }
        };
        if let Some(report) = report {
            tell(hit, &report, cx);
        }
    }
}

/// A holder in a hole; the lowest point is that of some stroke.
fn hole(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let Some((tool, job)) = view.tool.zip(view.job) else { return };
    let Some(Sink::Into(into)) = holder_in_hole(view.recipe, tool, job) else { return };
    let recipe = view.recipe;
    let stroke = recipe.strokes.iter().position(|stroke| stroke.to <= recipe.bottom).unwrap_or(0);
    let aim = Aim::Hole { word: HoleWord::Depth, stroke };
    cx.report(part_report(aim, (tool.number, into, recipe.bottom), cx.units));
}

/// Reports a hit at each of its places.
pub(super) fn tell(hit: &Hit, report: &Report, cx: &mut Context<'_>) {
    cx.subject = Subject { tool: Some(hit.worst.tool), hole: None };
    for block in &hit.places {
        cx.report(Report { aim: Aim::Block(*block), ..report.clone() });
    }
}

/// The report of a hit on a zone; `None` for a coupon, which is `coupon-cut`'s.
fn zone_report(hit: &Hit, zone: &Zone, units: UnitSystem) -> Option<Report> {
    if zone.kind == ZoneKind::Coupon {
        return None;
    }
    let worst = hit.worst;
    let short = units.length(Millimetres(-worst.gap));
    let (part, what) = (part(worst.part), zone.kind.word());
    let advice = match (worst.axis, worst.part) {
        (2, BodyPart::Holder) => format!("let the tool stand out {short} more, or stay that much higher there"),
        (2, BodyPart::Tool) => format!("stay {short} higher there, or move the {what}"),
        _ => format!("stay {short} farther away, or move the {what}"),
    };
    let message = format!("{part} of T{} comes {short} too close to {what} `{}`", worst.tool, zone.id);
    Some(
        Report::new(Aim::Block(worst.block), message)
            .why(as_drawn(worst, zone, units))
            .why(tip(hit, units))
            .measured(worst.gap, "mm")
            .limit(0.0, "mm", format!("job file: fixture, zone {}", zone.id))
            .advice(advice),
    )
}

/// How the gap comes about.
pub(super) fn as_drawn(worst: Clearance, zone: &Zone, units: UnitSystem) -> String {
    let drawn = worst.gap + zone.tolerance.0;
    let place = if drawn < 0.0 { "inside" } else { "clear of" };
    let text = format!("{} {place} the {} as drawn", units.length(Millimetres(drawn.abs())), zone.kind.word());
    match zone.tolerance {
        Millimetres(0.0) => text,
        tolerance => format!("{text}, position tolerance {} taken off", units.length(tolerance)),
    }
}

/// Where the tip is.
pub(super) fn tip(hit: &Hit, units: UnitSystem) -> String {
    let [x, y, z] = hit.worst.at;
    let at = [('X', x), ('Y', y), ('Z', z)].map(|(letter, value)| units.coordinate(letter, Millimetres(value)));
    format!("tip at {}{}", at.join(" "), if hit.rapid { ", at rapid" } else { "" })
}

fn floor_report(hit: &Hit, what: &str, units: UnitSystem) -> Report {
    let worst = hit.worst;
    let [_, _, z] = worst.at;
    let message = format!("T{} goes {} beyond {what}", worst.tool, units.length(Millimetres(-worst.gap)));
    Report::new(Aim::Block(worst.block), message)
        .why(tip(hit, units))
        .measured(z, "mm")
        .limit(z - worst.gap, "mm", "job file: fixture")
        .advice("stay higher")
}

/// The report of a holder that goes `into` mm below the entry face with the tip at `bottom`.
fn part_report(aim: Aim, (tool, into, bottom): (u32, f64, f64), units: UnitSystem) -> Report {
    let (into_text, z) = (units.length(Millimetres(into)), |z| units.coordinate('Z', Millimetres(z)));
    Report::new(aim, format!("holder of T{tool} goes {into_text} below the entry face"))
        .why(format!("tip at {}, and what is wider than the opening begins {into_text} below the face", z(bottom)))
        .measured(bottom, "mm")
        .limit(bottom + into, "mm", format!("job file: tool.{tool}, stick_out and holder"))
        .advice(format!("let the tool stand out {into_text} more, or go no deeper than {}", z(bottom + into)))
}

/// What could not be told, and which key would tell it.
fn note(gap: ClearanceGap, job: &Job, cx: &mut Context<'_>) {
    match gap {
        ClearanceGap::Holder { tool, key } => {
            let why =
                format!("T{tool} passes so near to a clamp or post that its holder matters, which is not described");
            cx.not_checked(why, format!("tool.{tool}.{key}"));
        }
        ClearanceGap::Depth { tool, key } => {
            let why = format!("T{tool} may go deeper into the part than it stands out of its holder");
            let key = format!("tool.{tool}.{key}");
            // Nobody has said anything about how the tool is held: the job file need not.
            if job.tool(tool).is_some_and(|tool| tool.stick_out.is_none() && tool.flute_length.is_none()) {
                cx.no_limit(why, key);
            } else {
                cx.not_checked(why, key);
            }
        }
        ClearanceGap::RapidStyle { tool, zone } => {
            let id = job.fixture.zones.get(zone).map_or("", |zone| zone.id.as_str());
            let why = format!("a rapid of T{tool} is clear of `{id}` in a straight line only, not axis by axis");
            cx.not_checked(why, "machine.rapid_style".to_owned());
        }
        ClearanceGap::Place { tool } => {
            cx.not_checked(format!("the place of T{tool} is not known in some of its feed moves"), None);
        }
    }
}

fn part(part: BodyPart) -> &'static str {
    match part {
        BodyPart::Tool => "the cutting part or shank",
        BodyPart::Holder => "the holder",
    }
}
