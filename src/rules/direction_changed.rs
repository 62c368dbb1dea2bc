//! A finished edge is cut in the other direction than the one declared for it.
//!
//! ## Why it matters
//! Neither climb nor conventional is wrong by itself in a laminate: the angle of the outer fibres decides which leaves them
//! uncut (uncut fibres depend strongly on the outer ply's angle, doi 10.1177/0954405417699015). What was tried and approved
//! must be kept: an edge declares its direction, and a pass that turns it round, by path, spindle sense or compensation
//! side, is reported. Edges without a declared direction stay quiet.
//!
//! ## Fires on
//! Along the top edge towards -X with M3 the panel lies on the left: conventional, where climb is declared.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X220 Y105 Z5
//! G0 Z-7
//! G1 X-20 F1000 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! M30
//! ```
//! A slot, whose direction is not declared:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X77 Y48 Z0.5
//! G1 X123 Z-3 F1000
//! X77 Z-7
//! X123
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Turns the side of compensation, where it is on and the edge is then cut as far as before and as declared. Without
//! compensation none: the path must be posted the other way.

use super::{Aim, Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::job::CutDirection;
use crate::operation::Side;

/// The rule.
pub static RULE: Rule = Rule {
    name: "direction-changed",
    severity: Severity::Warning,
    summary: "a finished edge cut against its declared direction",
    checks: &[Check::Cut(check), Check::Program(missing::edges), Check::Program(missing::tool)],
};

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    let edge = view.cut.edge.and_then(|edge| view.job.edges.get(edge)).filter(|edge| edge.finish);
    let Some((edge, wanted)) = edge.and_then(|edge| Some((edge, edge.direction?))) else { return };
    let Some(is) = view.cut.direction.filter(|is| *is != wanted) else { return };
    let side = match view.cut.side {
        Some(Side::Left) => "the finished material lies on the left of the path",
        Some(Side::Right) => "the finished material lies on the right of the path",
        None => "the side of the finished material is not known",
    };
    let aim = Aim::Block(view.cut.first);
    let message = format!("edge {} is cut {}, declared {}", edge.id, word(is), word(wanted));
    cx.report(
        Report::new(aim, message)
            .why(format!("{side}; a spindle turning clockwise climbs with it on the right"))
            .advice("cut the edge the other way round, or have the new direction approved and declare it")
            .remedy(Remedy::OtherSide),
    );
}

fn word(direction: CutDirection) -> &'static str {
    match direction {
        CutDirection::Climb => "climb",
        CutDirection::Conventional => "conventional",
    }
}
