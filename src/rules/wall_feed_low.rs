//! An edge is fed less at the trimmed wall than the laminate's floor.
//!
//! ## Why it matters
//! Below its floor an edge rubs: it bends the fibres instead of cutting them, and the resin heats. Round an outside corner
//! the wall is shorter than the path of the tool's centre, and each edge takes (R - r) / R of the feed only. The floor is
//! the laminate's own (`trim.tooth_floor`), else the feed whose thickest chip is as thick as the edge is round. Stretches
//! in core only, air, and corners turned about a point stay quiet.
//!
//! ## Fires on
//! 400 mm/min at 10000 rev/min is 0.02 mm for each of two edges; the panel asks for 0.03.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F400 (!)
//! G0 Z5
//! M30
//! ```
//! A router of 8 mm circling a 12 mm hole at 0.003 mm/tooth, 0.009 at the wall; the plate asks for 0.010:
//! ```nc,open_plate
//! G21 G90 G94 G17 G40 G49 G80
//! T12 M6
//! S6000 M3 M7
//! G0 G43 H12 X20 Y20 Z5
//! G0 X22
//! G1 Z0.5 F36 (!)
//! G3 X22 I-2 Z-3
//! G3 X22 I-2 Z-7
//! G3 X22 I-2
//! G1 X20
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
//! G1 X220 F600
//! G0 Z5
//! M30
//! ```
//! Slow moves in air, and a sharp corner rolled about its point:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-30 Y105 Z5
//! G1 Z-7 F100
//! G1 X-16
//! G1 X200 F1000
//! G2 X205 Y100 J-5
//! G1 Y-16
//! G1 Y-30 F100
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Raises the feed of these moves to the floor, where no ceiling lies below it.

use super::feed::{centre_share, feed_line, feed_word, posted, speed, stroke_ceiling, worst_of_each_feed};
use super::trim::{
    below, can_judge_feed, cause_by_remedy, centre_feed, fed_if, feed_in_block, first_fed, laminate, tooth_line,
    with_band,
};
use super::{Check, Context, CutView, HoleView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::process::{CutReading, Reading};
use crate::units::{MmPerTooth, UnitSystem};

/// The rule.
pub static RULE: Rule = Rule {
    name: "wall-feed-low",
    severity: Severity::Warning,
    summary: "feeds a trimmed wall less than the laminate's floor",
    checks: &[Check::Cut(check), Check::Hole(orbit), Check::Program(missing::trimming)],
};

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    if !can_judge_feed(view, cx) {
        return;
    }
    let missing = first_fed(view, |_, reading| reading.floor.is_none());
    if let Some(laminate) = missing.and_then(|stretch| laminate(view, stretch)) {
        let key = format!("laminate.{}.trim.tooth_floor", laminate.name);
        cx.not_checked("no least feed is stated for trimming and the tool has no edge radius", key);
    }
    let slow = |reading: &CutReading| {
        reading.per_tooth.zip(reading.floor.as_ref()).is_some_and(|(feed, floor)| below(feed, floor.value))
    };
    for piece @ (stretch, reading) in fed_if(view, |_, reading| slow(reading)) {
        let (Some(feed), Some(floor)) = (reading.per_tooth, &reading.floor) else { continue };
        let target = centre_feed(view, piece, floor.value);
        let cause = cause_by_remedy(view, stretch.feed.unwrap_or_default(), target.map(|feed| feed.0));
        cx.report_worst(cause, -feed.0, feed_in_block(stretch), |units| {
            let report = Report::new(feed_in_block(stretch), message(feed, floor.value, units))
                .why(tooth_line(view, piece, units))
                .measured(feed.0, "mm/tooth")
                .limit(floor.value.0, "mm/tooth", floor.origin.clone());
            let fits = reading.ceiling.as_ref().is_none_or(|ceiling| ceiling.value >= floor.value);
            let report = match target.filter(|_| fits) {
                Some(target) => {
                    let target = posted(target, units, true);
                    report
                        .advice(format!("feed these moves at {} or more", units.feed(target)))
                        .remedy(Remedy::Feed(target))
                }
                None => report.advice("no feed keeps floor and ceiling here"),
            };
            with_band(report, view)
        });
    }
}

fn message(feed: MmPerTooth, least: MmPerTooth, units: UnitSystem) -> String {
    format!("wall feed {}, least {}", units.per_tooth(feed), units.per_tooth(least))
}

/// Holes milled by circling.
fn orbit(view: &HoleView<'_>, cx: &mut Context<'_>) {
    if view.recipe.orbit.is_none() {
        return;
    }
    let passes = cx.passes(view);
    if passes.iter().any(|pass| pass.window.stated_floor.is_none() && is_fibre(view, pass)) {
        missing(view, cx);
    }
    let broken = passes.iter().filter_map(|pass| {
        let (feed, floor) = (pass.per_rev?, pass.window.stated_floor.as_ref()?.value);
        super::feed::below(feed, floor).then_some((pass, feed, floor.0))
    });
    for pass in worst_of_each_feed(broken) {
        report_orbit(view, pass, cx);
    }
}

fn is_fibre(view: &HoleView<'_>, pass: &Reading) -> bool {
    let layer = view.laminate.and_then(|laminate| laminate.layers.get(pass.layer));
    layer.is_some_and(|layer| layer.material.class.is_laminate())
}

fn report_orbit(view: &HoleView<'_>, pass: &Reading, cx: &mut Context<'_>) {
    let (Some(feed), Some(floor), Some(edges)) =
        (pass.per_rev, &pass.window.stated_floor, view.tool.and_then(|tool| tool.edges))
    else {
        return;
    };
    let (is, least) = (feed.per_tooth(edges), floor.value.per_tooth(edges));
    let mut report = Report::new(feed_word(pass), message(is, least, cx.units))
        .why(feed_line(view, pass, cx.units))
        .why(format!("{} over {edges} edges = {}", cx.units.per_rev(feed), cx.units.per_tooth(is)))
        .measured(is.0, "mm/tooth")
        .limit(least.0, "mm/tooth", floor.origin.clone());
    let fits = stroke_ceiling(view, pass.stroke).is_none_or(|ceiling| ceiling >= floor.value);
    if let Some(speed) = speed(view, pass).filter(|_| fits) {
        let feed = posted(floor.value * speed * centre_share(view, pass), cx.units, true);
        report = report.advice(format!("feed at {} or more", cx.units.feed(feed))).remedy(Remedy::Feed(feed));
    }
    cx.report_once(super::feed::with_band(report, view));
}

fn missing(view: &HoleView<'_>, cx: &mut Context<'_>) {
    let (Some(laminate), Some(tool)) = (view.laminate, view.tool) else { return };
    let stated =
        laminate.trim.tooth_floor.is_some() || laminate.layers.iter().any(|layer| layer.limits.tooth_floor.is_some());
    let key = if stated {
        format!("tool.{}.edges", tool.number)
    } else {
        format!("laminate.{}.trim.tooth_floor", laminate.name)
    };
    cx.not_checked(format!("`{key}` is not given"), key);
}
