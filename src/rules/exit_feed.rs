//! What the exit rules share: which passes keep the exit feed, and what would cure those that do not.

use super::feed::{above, exit_passes, height, posted, posted_height, speed};
use super::{Context, HoleView, Report};
use crate::diagnostic::Remedy;
use crate::job::{Laminate, Limit, Support};
use crate::process::{FeedZone, HoleReading, Reading};
use crate::units::{Millimetres, MmPerRev, UnitSystem};

/// Depths closer than this are the same: posts round Z to their last digit, mm. House value.
pub(super) const SAME_DEPTH: f64 = 0.01;

/// How a hole keeps the exit feed: its exit passes, sorted by whether they keep it.
pub(super) struct ExitFeed<'v> {
    /// Where the exit feed holds.
    pub zone: &'v FeedZone,
    /// The exit feed.
    pub limit: &'v Limit<MmPerRev>,
    /// Passes at or below it, deepest last.
    pub slow: Vec<&'v Reading>,
    /// Passes above it.
    pub fast: Vec<&'v Reading>,
}

impl<'v> ExitFeed<'v> {
    /// The exit passes of a hole; `None` where nothing can be pushed out, or with a note where the limit is missing.
    pub(super) fn of(view: &HoleView<'v>, cx: &mut Context<'_>) -> Option<Self> {
        let passes = cx.passes(view);
        let (zone, laminate) = view.reading.exit.as_ref().zip(view.laminate)?;
        let Some(limit) = &zone.feed else {
            let key = format!("laminate.{}.exit", laminate.name);
            cx.not_checked("the exit is unsupported and no exit feed is given", key);
            return None;
        };
        let mut long = exit_passes(passes).filter(|pass| (pass.depth.1 - pass.depth.0).0 > SAME_DEPTH).peekable();
        long.peek()?;
        let (fast, slow) = long
            .filter(|pass| pass.per_rev.is_some())
            .partition(|pass| pass.per_rev.is_some_and(|feed| above(feed, limit.value)));
        Some(Self { zone, limit, slow, fast })
    }

    /// Depth at which the first slow pass begins.
    pub(super) fn slow_from(&self) -> Option<Millimetres> {
        self.slow.iter().map(|pass| pass.depth.0).reduce(|a, b| if b < a { b } else { a })
    }

    /// The remedy that slows the stroke `pass` belongs to over the whole zone, and its advice. `None` where the limit
    /// lies below the floor: such a feed would rub, and no number in the program is right.
    pub(super) fn remedy(&self, view: &HoleView<'_>, pass: &Reading, units: UnitSystem) -> Option<(Remedy, String)> {
        let speed = speed(view, pass)?;
        let floor = exit_floor(view.reading);
        let fits = |feed: MmPerRev| floor.is_none_or(|floor| feed >= floor);
        let thrust = pass.window.thrust_ceiling.as_ref().map(|limit| limit.value);
        let target = thrust.filter(|feed| *feed < self.limit.value && fits(*feed)).unwrap_or(self.limit.value);
        if !fits(target) {
            return None;
        }
        let past = view.laminate?.overtravel.as_ref().map_or(Millimetres(0.0), |limit| limit.value);
        let feed = posted(target * speed, units, false);
        let from = posted_height(view, self.zone.from, units, true);
        let to = posted_height(view, self.zone.to + past, units, false);
        let advice = format!(
            "feed at {} from {} to {}, or back the exit face and declare it",
            units.feed(feed),
            units.coordinate('Z', from),
            units.coordinate('Z', to),
        );
        Some((Remedy::SlowExit { from, feed, to }, advice))
    }

    /// Adds the zone's arithmetic, the limit and the remedy to a report on `pass`.
    pub(super) fn explain(&self, mut report: Report, view: &HoleView<'_>, pass: &Reading, units: UnitSystem) -> Report {
        for line in zone_lines(view, self.zone, units) {
            report = report.why(line);
        }
        match self.remedy(view, pass, units) {
            Some((remedy, advice)) => report.advice(advice).remedy(remedy),
            None => report.advice("no slow feed keeps above the chip-load floor: back the exit, or drill a pilot hole"),
        }
    }
}

/// Where the slow zone lies and why, as two lines.
fn zone_lines(view: &HoleView<'_>, zone: &FeedZone, units: UnitSystem) -> Vec<String> {
    let (Some(laminate), Some(through)) = (view.laminate, &view.reading.breakthrough) else { return Vec::new() };
    let [thin, nominal, thick] = through.tip_out.map(|depth| units.length(depth));
    let at = |depth| units.coordinate('Z', height(view, depth));
    let (extent, point) = (units.length(zone.extent), units.length(through.point));
    let way = if is_measured(view, laminate) {
        format!("laminate {nominal} as measured, from {extent} above its exit until the point of {point} is out")
    } else {
        let tail = format!("until the point of {point} is out of the thickest");
        format!("laminate {nominal} ({thin} to {thick}), from {extent} above the thinnest exit {tail}")
    };
    vec![format!("slow zone {} to {}: {way}", at(zone.from), at(zone.to)), support_line(laminate).to_owned()]
}

/// Whether somebody measured the laminate, so that it has no thinnest and thickest.
pub(super) fn is_measured(view: &HoleView<'_>, laminate: &Laminate) -> bool {
    let measured = view.job.and_then(|job| job.measured.as_ref());
    measured.is_some_and(|measured| measured.has_thickness_of(&laminate.name))
}

fn support_line(laminate: &Laminate) -> &'static str {
    match laminate.support {
        Support::Undeclared => "no support is declared, so none is counted on",
        Support::None => "nothing backs the exit face",
        Support::Backed => "the exit face is backed",
    }
}

/// Least feed that holds for every pass in the exit zone.
fn exit_floor(reading: &HoleReading) -> Option<MmPerRev> {
    let floors = exit_passes(&reading.passes).filter_map(|pass| pass.window.floor());
    floors.map(|limit| limit.value).reduce(|a, b| if b > a { b } else { a })
}
