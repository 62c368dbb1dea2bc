//! An edge is fed more at the trimmed wall than the laminate allows.
//!
//! ## Why it matters
//! F is the feed of the tool's centre. Inside an arc (a slot's end, a pocket's corner, a circled hole) the wall is longer
//! than the centre's path, and each edge takes (R + r) / R times the feed: 2.2 times where a 12 mm cutter turns through an
//! 11 mm slot end, 2.6 times where a 16 mm cutter circles a 26 mm hole. Too much of it frays and delaminates the edge. The
//! ceiling is the laminate's own (`trim.tooth_ceiling`), at the wall; stretches in core only and air stay quiet.
//!
//! ## Fires on
//! A 2 mm path in a 7 mm slot end: 1000 mm/min is 0.05 mm/tooth at the centre and 0.175 at the wall.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X77 Y48 Z1
//! G1 X123 Z-2 F1000
//! X77 Z-5
//! X123 Z-7
//! X77
//! X123
//! G3 Y52 J2 (!)
//! G1 X77
//! G0 Z5
//! M30
//! ```
//! A straight edge trimmed at 0.15 mm/tooth:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F3000 (!)
//! G0 Z5
//! M30
//! ```
//! A router of 8 mm circling a 12 mm hole: its centre makes 0.05 mm for each edge, the wall sees 0.15.
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T12 M6
//! S6000 M3 M7
//! G0 G43 H12 X20 Y20 Z5
//! G0 X22
//! G1 Z0.5 F600 (!)
//! G3 X22 I-2 Z-1
//! G3 X22 I-2 Z-3
//! G3 X22 I-2 Z-5
//! G3 X22 I-2 Z-7
//! G3 X22 I-2
//! G1 X20
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! The same slot with its end slowed down to 0.12 mm/tooth at the wall, and a fast approach in air:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X77 Y48 Z20
//! G1 Z1 F5000
//! G1 X123 Z-2 F1000
//! X77 Z-5
//! X123 Z-7
//! X77
//! X123
//! G3 Y52 J2 F685
//! G1 X77 F1000
//! G0 Z5
//! M30
//! ```
//! The outline at 0.12 mm/tooth, with a wide corner turned round outside:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X200 F2400
//! G2 X205 Y100 J-5
//! G1 Y-20
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Lowers the feed of these moves, where no floor lies above the ceiling. Moves behind an arc that took over its F get
//! the old one back.

use super::feed::{centre_share, feed_line, feed_word, posted, speed, worst_of_each_feed};
use super::trim::{
    above, can_judge_feed, cause_by_remedy, centre_feed, fed_if, feed_in_block, first_fed, laminate, tooth_line,
    with_band,
};
use super::{Check, Context, CutView, HoleView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::operation::{Path, Stretch};
use crate::process::{CutReading, Reading};
use crate::units::{MmPerTooth, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "wall-feed-high",
    severity: Severity::Error,
    summary: "feeds a trimmed wall faster than the laminate allows",
    checks: &[Check::Cut(check), Check::Hole(orbit), Check::Program(missing::trimming)],
};

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    if !can_judge_feed(view, cx) {
        return;
    }
    let blind = |stretch: &Stretch| matches!(stretch.path, Path::Arc { .. }) && stretch.engagement.is_none();
    if first_fed(view, |stretch, _| blind(stretch)).is_some() {
        let why = "without an outline nobody knows on which side of an arc the wall lies";
        cx.not_checked(why, "workpiece.outline".to_owned());
    }
    let missing = first_fed(view, |_, reading| reading.ceiling.is_none());
    if let Some(laminate) = missing.and_then(|stretch| laminate(view, stretch)) {
        let key = format!("laminate.{}.trim.tooth_ceiling", laminate.name);
        cx.not_checked(format!("`{key}` is not given"), key);
    }
    let fast = |reading: &CutReading| {
        reading.per_tooth.zip(reading.ceiling.as_ref()).is_some_and(|(feed, ceiling)| above(feed, ceiling.value))
    };
    for piece @ (stretch, reading) in fed_if(view, |_, reading| fast(reading)) {
        let (Some(feed), Some(ceiling)) = (reading.per_tooth, &reading.ceiling) else { continue };
        let target = centre_feed(view, piece, ceiling.value);
        let cause = cause_by_remedy(view, stretch.feed.unwrap_or_default(), target.map(|feed| feed.0));
        cx.report_worst(cause, feed.0, feed_in_block(stretch), |units| {
            let report = Report::new(feed_in_block(stretch), message(feed, ceiling.value, units))
                .why(tooth_line(view, piece, units))
                .measured(feed.0, "mm/tooth")
                .limit(ceiling.value.0, "mm/tooth", ceiling.origin.clone());
            let fits = reading.floor.as_ref().is_none_or(|floor| floor.value <= ceiling.value);
            let report = match target.filter(|_| fits) {
                Some(target) => {
                    let target = posted(target, units, false);
                    let advice =
                        format!("feed these moves at {} or less, and go on at the feed before", units.feed(target));
                    report.advice(advice).remedy(Remedy::Feed(target))
                }
                None => report.advice("no feed keeps floor and ceiling here: take a smaller cutter or a lower speed"),
            };
            with_band(report, view)
        });
    }
}

fn message(feed: MmPerTooth, most: MmPerTooth, units: UnitSystem) -> String {
    format!("wall feed {}, most {}", units.per_tooth(feed), units.per_tooth(most))
}

/// Holes milled by circling.
fn orbit(view: &HoleView<'_>, cx: &mut Context<'_>) {
    if view.recipe.orbit.is_none() {
        return;
    }
    let passes = cx.passes(view);
    if passes.iter().any(|pass| pass.window.layer_ceiling.is_none() && !in_core(view, pass)) {
        missing(view, cx);
    }
    let broken = passes.iter().filter_map(|pass| {
        let (feed, ceiling) = (pass.per_rev?, pass.window.layer_ceiling.as_ref()?.value);
        super::feed::above(feed, ceiling).then_some((pass, feed, -ceiling.0))
    });
    for pass in worst_of_each_feed(broken) {
        report_orbit(view, pass, cx);
    }
}

fn in_core(view: &HoleView<'_>, pass: &Reading) -> bool {
    let layer = view.laminate.and_then(|laminate| laminate.layers.get(pass.layer));
    layer.is_some_and(|layer| layer.material.class.is_core())
}

fn report_orbit(view: &HoleView<'_>, pass: &Reading, cx: &mut Context<'_>) {
    let (Some(feed), Some(ceiling), Some(edges)) =
        (pass.per_rev, &pass.window.layer_ceiling, view.tool.and_then(|tool| tool.edges))
    else {
        return;
    };
    let (is, most) = (feed.per_tooth(edges), ceiling.value.per_tooth(edges));
    let mut report = Report::new(feed_word(pass), message(is, most, cx.units))
        .why(feed_line(view, pass, cx.units))
        .why(format!("{} over {edges} edges = {}", cx.units.per_rev(feed), cx.units.per_tooth(is)))
        .measured(is.0, "mm/tooth")
        .limit(most.0, "mm/tooth", ceiling.origin.clone());
    let fits = pass.window.floor().is_none_or(|floor| floor.value <= ceiling.value);
    if let Some(speed) = speed(view, pass).filter(|_| fits) {
        let feed = posted(ceiling.value * speed * centre_share(view, pass), cx.units, false);
        report = report.advice(format!("feed at {} or less", cx.units.feed(feed))).remedy(Remedy::Feed(feed));
    }
    cx.report_once(super::feed::with_band(report, view));
}

fn missing(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(laminate), Some(tool)) = (view.laminate, view.tool) else { return };
    let stated = laminate.trim.tooth_ceiling.is_some()
        || laminate.layers.iter().any(|layer| layer.limits.tooth_ceiling.is_some());
    let key = if stated {
        format!("tool.{}.edges", tool.number)
    } else {
        format!("laminate.{}.trim.tooth_ceiling", laminate.name)
    };
    cx.not_checked(format!("`{key}` is not given"), key);
}
