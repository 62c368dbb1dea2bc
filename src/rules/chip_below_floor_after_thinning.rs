//! The feed keeps the floor, but a shallow side cut thins its chip below it.
//!
//! ## Why it matters
//! A cutter engaged over less than half its diameter cuts a chip of 2 sqrt(ae/D (1 - ae/D)) of the feed for each edge at
//! most: 0.6 at a tenth of the diameter, 0.44 at a twentieth (plain geometry; two public references on radial chip
//! thinning print the same factors). A feed meant for a slot then rubs in the finishing cut. Feeds of a cutter table's
//! light column hold that factor already and must not be raised twice. The engagement is measured along the path, with
//! what earlier passes took away; a workpiece must be given for it.
//!
//! ## Fires on
//! A second pass takes the last 0.5 mm: 0.04 mm/tooth makes a chip of 0.0174; the panel asks for 0.03.
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105.5 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! G0 X-20 Y105
//! G0 Z-7
//! G1 X220 F800 (!)
//! G0 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! The same pass at 0.08 mm/tooth, a chip of 0.035:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105.5 Z5
//! G0 Z-7
//! G1 X220 F1000
//! G0 Z5
//! G0 X-20 Y105
//! G0 Z-7
//! G1 X220 F1600
//! G0 Z5
//! M30
//! ```
//! Full width at 0.04 mm/tooth:
//! ```nc,trim
//! G21 G90 G94 G17 G40 G49 G80
//! T2 M6
//! S10000 M3 M7
//! G0 G43 H2 X-20 Y105 Z5
//! G0 Z-7
//! G1 X220 F800
//! G0 Z5
//! M30
//! ```
//!
//! ## Remedy
//! Raises the feed by the thinning factor, where the ceiling at the wall allows it.

use super::feed::posted;
use super::trim::{
    Piece, above, can_judge_feed, cause_by_remedy, centre_feed, fed, feed_in_block, first_fed, tooth_line, with_band,
};
use super::{Check, Context, CutView, Report, Rule, missing};
use crate::diagnostic::{Remedy, Severity};
use crate::units::{Millimetres, MmPerTooth, UnitSystem, trimmed};

/// The rule.
pub static RULE: Rule = Rule {
    name: "chip-below-floor-after-thinning",
    severity: Severity::Warning,
    summary: "a shallow side cut thins its chip below the floor",
    checks: &[Check::Cut(check), Check::Program(missing::trimming)],
};

/// Shallower engagements are the tool leaving or grazing a wall already cut, degrees: nothing to speak of is removed.
/// House value.
const GRAZE: f64 = 5.0;

fn check(view: &CutView<'_>, cx: &mut Context<'_>) {
    if !can_judge_feed(view, cx) {
        return;
    }
    if first_fed(view, |stretch, _| stretch.engagement.is_none()).is_some() {
        let why = "without an outline nobody knows how much of the cutter is engaged";
        cx.not_checked(why, "workpiece.outline".to_owned());
    }
    let width = view.tool.map_or(0.0, |tool| tool.diameter.0);
    for run in thin_runs(view).into_iter().filter(|run| run.length > width) {
        let piece @ (stretch, reading) = run.longest;
        let (Some(chip), Some(floor)) = (reading.chip_max, &reading.floor) else { continue };
        let chip = MmPerTooth(chip.to_mm().0);
        let target = centre_feed(view, piece, MmPerTooth(floor.value.0 / reading.thinning.unwrap_or(1.0)));
        let cause = cause_by_remedy(view, stretch.feed.unwrap_or_default(), target.map(|feed| feed.0));
        cx.report_worst(cause, -chip.0, feed_in_block(stretch), |units| {
            let report = report(view, piece, chip, floor.value, units);
            with_band(report.limit(floor.value.0, "mm/tooth", floor.origin.clone()), view)
        });
    }
}

/// Stretches one behind the other whose feed keeps the floor and whose chip does not. Where they are shorter than the
/// tool is wide, it enters, leaves or crosses an earlier cut.
struct ThinRun<'v> {
    length: f64,
    longest: Piece<'v>,
}

fn thin_runs<'v>(view: &CutView<'v>) -> Vec<ThinRun<'v>> {
    let mut runs: Vec<ThinRun<'v>> = Vec::new();
    let mut goes_on = false;
    if first_fed(view, |_, reading| reading.is_thin()).is_none() {
        return runs;
    }
    for piece @ (stretch, reading) in fed(view) {
        let thin = reading.is_thin() && stretch.engagement.is_some_and(|(_, most)| most >= GRAZE);
        match runs.last_mut().filter(|_| thin && goes_on) {
            Some(run) => {
                run.length += stretch.length;
                if stretch.length > run.longest.0.length {
                    run.longest = piece;
                }
            }
            None if thin => runs.push(ThinRun { length: stretch.length, longest: piece }),
            None => {}
        }
        goes_on = thin;
    }
    runs
}

fn report(view: &CutView<'_>, piece: Piece<'_>, chip: MmPerTooth, floor: MmPerTooth, units: UnitSystem) -> Report {
    let (stretch, reading) = piece;
    let thinning = reading.thinning.unwrap_or(1.0);
    let (_, most) = stretch.engagement.unwrap_or_default();
    let depth = view.tool.map_or(0.0, |tool| tool.diameter.0 * (1.0 - libm::cos(most.to_radians())) / 2.0);
    let message = format!("chip of {} after thinning, least {}", units.per_tooth(chip), units.per_tooth(floor));
    let report = Report::new(feed_in_block(stretch), message)
        .why(tooth_line(view, piece, units))
        .why(format!(
            "engaged over {} degrees, {} deep: the thickest chip is {} of the feed for each edge",
            trimmed(most, 1),
            units.length(Millimetres(depth)),
            trimmed(thinning, 3),
        ))
        .measured(chip.0, "mm/tooth");
    let wanted = MmPerTooth(floor.0 / thinning);
    let fits = reading.ceiling.as_ref().is_none_or(|ceiling| !above(wanted, ceiling.value));
    match centre_feed(view, piece, wanted).filter(|_| fits) {
        Some(target) => {
            let target = posted(target, units, true);
            report.advice(format!("feed this pass at {} or more", units.feed(target))).remedy(Remedy::Feed(target))
        }
        None => report.advice("leave more material for this pass: the feed it needs lies above the ceiling"),
    }
}
