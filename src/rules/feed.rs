//! What the feed rules share: how feeds compare, where findings point, and the lines of their arithmetic.

use super::{Aim, HoleView, Report};
use crate::job::Limit;
use crate::operation::HoleWord;
use crate::process::{BandEnd, OverrideBand, POST_ROUNDING, Reading, Zone};
use crate::units::{Millimetres, MmPerMin, MmPerRev, RevPerMin, UnitSystem, trimmed};

/// Whether a feed lies above its limit by more than posts round.
pub(super) fn above(feed: MmPerRev, limit: MmPerRev) -> bool {
    feed.0 > limit.0 * (1.0 + POST_ROUNDING)
}

/// Whether a feed lies below its limit by more than posts round.
pub(super) fn below(feed: MmPerRev, limit: MmPerRev) -> bool {
    feed.0 < limit.0 * (1.0 - POST_ROUNDING)
}

/// The feed word that drives a pass.
pub(super) fn feed_word(pass: &Reading) -> Aim {
    Aim::Hole { word: HoleWord::Feed, stroke: pass.stroke }
}

/// Spindle speed of a pass.
pub(super) fn speed(view: &HoleView<'_>, pass: &Reading) -> Option<RevPerMin> {
    view.recipe.strokes.get(pass.stroke)?.speed.filter(|speed| *speed > 0.0).map(RevPerMin)
}

/// Name of a pass's layer.
pub(super) fn layer<'v>(view: &HoleView<'v>, pass: &Reading) -> &'v str {
    view.laminate.and_then(|laminate| laminate.layers.get(pass.layer)).map_or("", |layer| layer.name.as_str())
}

/// How a pass comes to its feed for each turn.
pub(super) fn feed_line(view: &HoleView<'_>, pass: &Reading, units: UnitSystem) -> String {
    let stroke = view.recipe.strokes.get(pass.stroke);
    let (Some(feed), Some(speed), Some(per_rev)) = (stroke.and_then(|s| s.feed), speed(view, pass), pass.per_rev)
    else {
        return String::new();
    };
    let feed = MmPerMin(feed);
    let line = format!("{} / {speed} = {}", units.feed(feed), units.per_rev(feed / speed));
    match &view.recipe.orbit {
        Some(orbit) => {
            let at_wall = units.per_rev(per_rev);
            format!("{line} at the tool centre, {at_wall} at the wall of an orbit of {} mm", trimmed(orbit.diameter, 3))
        }
        None => line,
    }
}

/// A feed for each turn by its edges, where the tool's are known.
pub(super) fn tooth_line(view: &HoleView<'_>, feed: MmPerRev, units: UnitSystem) -> Option<String> {
    let edges = view.tool?.edges?;
    Some(format!("{} over {edges} edges = {}", units.per_rev(feed), units.per_tooth(feed.per_tooth(edges))))
}

/// A report of a feed for each turn below a floor, with its arithmetic by turn and, where the edges are known, by edge.
pub(super) fn below_floor(
    message: String,
    (view, pass): (&HoleView<'_>, &Reading),
    (feed, floor): (MmPerRev, &Limit<MmPerRev>),
    units: UnitSystem,
) -> Report {
    let report = Report::new(feed_word(pass), message)
        .why(feed_line(view, pass, units))
        .measured(feed.0, "mm/rev")
        .limit(floor.value.0, "mm/rev", floor.origin.clone());
    match (tooth_line(view, feed, units), tooth_line(view, floor.value, units)) {
        (Some(is), Some(least)) => report.why(format!("{is}; least {least}")),
        _ => report,
    }
}

/// Feed of the tool centre over the feed a pass is judged by: 1 for a straight stroke, less for an orbit.
pub(super) fn centre_share(view: &HoleView<'_>, pass: &Reading) -> f64 {
    let centre = view.recipe.strokes.get(pass.stroke).and_then(|stroke| stroke.feed);
    let judged = pass.per_rev.zip(speed(view, pass)).map(|(feed, speed)| (feed * speed).0);
    centre.zip(judged).map_or(1.0, |(centre, judged)| centre / judged)
}

/// A depth below the entry face as a program coordinate.
pub(super) fn height(view: &HoleView<'_>, depth: Millimetres) -> Millimetres {
    view.job.map_or(Millimetres(0.0), |job| job.head.entry_z) - depth
}

/// The overrides that keep every limit of a hole or a cut, with what ends them, as a line of arithmetic.
pub(super) fn band_line(band: &OverrideBand, what: &str) -> Option<String> {
    let end = |end: &Option<BandEnd>| end.as_ref().map(|end| end.set_by.words());
    Some(match (end(&band.least), end(&band.most)) {
        (Some(floor), Some(ceiling)) => {
            let (from, to) = band.percent()?;
            let keeps = if band.is_empty() { "no feed override keeps" } else { "feed overrides that keep" };
            format!("{keeps} this {what} inside every limit: {from} % or more ({floor}), {to} % or less ({ceiling})")
        }
        (Some(floor), None) => {
            format!("feed overrides of {} % or more keep this {what}'s {floor}; no ceiling is known", band.least()?)
        }
        (None, Some(ceiling)) => {
            format!("feed overrides of {} % or less keep this {what}'s {ceiling}; no floor is known", band.most()?)
        }
        (None, None) => return None,
    })
}

/// Adds the overrides that keep every limit of a hole.
pub(super) fn with_band(report: Report, view: &HoleView<'_>) -> Report {
    band_line(&OverrideBand::of_hole(view.reading), "hole").into_iter().fold(report, Report::why)
}

/// The passes in the exit zone.
pub(super) fn exit_passes(passes: &[Reading]) -> impl Iterator<Item = &Reading> {
    passes.iter().filter(|pass| pass.zone == Zone::Exit)
}

/// Whether the limits of a pass leave no feed.
pub(super) fn is_shut(pass: &Reading) -> bool {
    pass.window.floor().zip(pass.window.ceiling()).is_some_and(|(floor, ceiling)| floor.value > ceiling.value)
}

/// The lowest ceiling of any pass of a stroke: one feed word drives it from end to end.
pub(super) fn stroke_ceiling(view: &HoleView<'_>, stroke: usize) -> Option<MmPerRev> {
    let passes = view.reading.passes.iter().filter(|pass| pass.stroke == stroke);
    let ceilings = passes.filter_map(|pass| pass.window.ceiling()).map(|limit| limit.value);
    ceilings.reduce(|one, other| if other < one { other } else { one })
}

/// The worst pass of each feed: one feed word is one cause, in however many layers it breaks a limit.
pub(super) fn worst_of_each_feed<'v>(broken: impl Iterator<Item = (&'v Reading, MmPerRev, f64)>) -> Vec<&'v Reading> {
    let mut worst: Vec<(&Reading, MmPerRev, f64)> = Vec::new();
    for (pass, feed, excess) in broken {
        match worst.iter_mut().find(|(_, other, _)| *other == feed) {
            Some(known) if known.2 < excess => *known = (pass, feed, excess),
            Some(_) => {}
            None => worst.push((pass, feed, excess)),
        }
    }
    worst.into_iter().map(|(pass, ..)| pass).collect()
}

/// A table feed rounded so that it stays on the safe side of its limit: down below a ceiling, up above a floor.
pub(super) fn posted(feed: MmPerMin, units: UnitSystem, up: bool) -> MmPerMin {
    let steps = match units {
        UnitSystem::Metric => 10.0,
        UnitSystem::Inch => 100.0,
    };
    MmPerMin(rounded(feed.0 / units.mm() * steps, up) / steps * units.mm())
}

/// A depth below the entry face as a program coordinate rounded outwards: up where a zone begins, down where it ends.
pub(super) fn posted_height(view: &HoleView<'_>, depth: Millimetres, units: UnitSystem, up: bool) -> Millimetres {
    let steps = match units {
        UnitSystem::Metric => 100.0,
        UnitSystem::Inch => 1000.0,
    };
    Millimetres(rounded(height(view, depth).0 / units.mm() * steps, up) / steps * units.mm())
}

/// The next whole number up or down; one that is whole but for a rounding error stays.
fn rounded(count: f64, up: bool) -> f64 {
    if up { libm::ceil(count - 1e-6) } else { libm::floor(count + 1e-6) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn posted_feeds_stay_on_the_safe_side() {
        let metric = |feed, up| posted(MmPerMin(feed), UnitSystem::Metric, up).0;
        assert_eq!((metric(190.98, false), metric(190.92, true)), (190.9, 191.0));
        assert_eq!((metric(0.03 * 2650.0, false), metric(0.03 * 2650.0, true)), (79.5, 79.5));
        let inch = posted(MmPerMin(6.437 * 25.4), UnitSystem::Inch, false).0 / 25.4;
        assert!((inch - 6.43).abs() < 1e-12);
    }

    #[test]
    fn feeds_within_the_last_posted_digit_are_equal() {
        let limit = MmPerRev(0.03);
        assert!(!above(MmPerRev(0.0301), limit) && above(MmPerRev(0.0302), limit));
        assert!(!below(MmPerRev(0.0299), limit) && below(MmPerRev(0.0298), limit));
    }
}
