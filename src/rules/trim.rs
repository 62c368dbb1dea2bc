//! What the rules of trimming share: which stretches break a limit, where they point, and the lines of their arithmetic.

use super::feed::band_line;
use super::ledger::Cause;
use super::{Aim, Context, CutView, Report};
use crate::job::{Laminate, Limit, ToolKind};
use crate::motion::UNSTATED;
use crate::operation::{Path, Stretch};
use crate::process::{CutReading, Kind, OverrideBand, POST_ROUNDING, laminate_of};
use crate::units::{Millimetres, MmPerMin, MmPerTooth, RevPerMin, UnitSystem, trimmed};

/// Heights closer than this are the same, mm; house value.
pub(super) const LEVEL: f64 = 0.01;
/// Stretches shorter than this are where the tool meets or leaves the material, mm: no rule of feeds speaks of them.
/// House value.
const TOUCH: f64 = 0.05;

/// A stretch with what it comes to.
pub(super) type Piece<'v> = (&'v Stretch, &'v CutReading);

/// Stretches of those kinds alone that `concerned` holds for, by feed, speed, path, engagement, exact stop, layers with
/// their limits and the bounds of their heights: a cut has far fewer kinds than stretches.
pub(super) fn stretches_if<'v>(
    view: &CutView<'v>,
    concerned: impl Fn(&Stretch, &Kind) -> bool,
) -> impl Iterator<Item = (usize, &'v Stretch)> {
    let stretches = view.cut.stretches.as_slice();
    let first = move |kind: &Kind| stretches.get(kind.range.start);
    let concerned = view.readings.kinds.iter().filter(move |kind| first(kind).is_some_and(|one| concerned(one, kind)));
    concerned.flat_map(move |kind| kind.range.clone().zip(stretches.get(kind.range.clone()).unwrap_or_default()))
}

/// The same stretches with their readings.
pub(super) fn pieces_if<'v>(
    view: &CutView<'v>,
    concerned: impl Fn(&Stretch, &Kind) -> bool,
) -> impl Iterator<Item = Piece<'v>> {
    let readings = view.readings;
    stretches_if(view, concerned).filter_map(|(index, stretch)| Some((stretch, readings.each().get(index)?)))
}

/// The same stretches as far as their feed counts: sideways, in more than core, and longer than a touch.
pub(super) fn fed_if<'v>(
    view: &CutView<'v>,
    concerned: impl Fn(&Stretch, &CutReading) -> bool,
) -> impl Iterator<Item = Piece<'v>> {
    let concerned = move |stretch: &Stretch, kind: &Kind| is_fed(stretch, kind) && concerned(stretch, &kind.reading);
    pieces_if(view, concerned).filter(|(stretch, _)| stretch.length > TOUCH)
}

/// The first stretch whose feed counts and of whose kind `concerned` holds.
pub(super) fn first_fed<'v>(
    view: &CutView<'v>,
    concerned: impl Fn(&Stretch, &CutReading) -> bool,
) -> Option<&'v Stretch> {
    let concerned = move |stretch: &Stretch, kind: &Kind| is_fed(stretch, kind) && concerned(stretch, &kind.reading);
    stretches_if(view, concerned).map(|(_, stretch)| stretch).find(|stretch| stretch.length > TOUCH)
}

/// All stretches whose feed counts.
pub(super) fn fed<'v>(view: &CutView<'v>) -> impl Iterator<Item = Piece<'v>> {
    fed_if(view, |_, _| true)
}

/// Whether feed counts in stretches of a kind.
fn is_fed(stretch: &Stretch, kind: &Kind) -> bool {
    stretch.path != Path::Plunge && !kind.reading.core_only && !kind.reading.layers.is_empty()
}

/// Stretches at one height.
pub(super) fn level<'v>(view: &CutView<'v>) -> impl Iterator<Item = Piece<'v>> {
    level_if(view, |_, _| true)
}

/// Those of kinds that `concerned` holds for.
pub(super) fn level_if<'v>(
    view: &CutView<'v>,
    concerned: impl Fn(&Stretch, &CutReading) -> bool,
) -> impl Iterator<Item = Piece<'v>> {
    let level = |stretch: &Stretch| (stretch.z.0 - stretch.z.1).abs() <= LEVEL && stretch.descent < 1.0;
    fed_if(view, concerned).filter(move |(stretch, _)| level(stretch))
}

/// Whether a feed for each edge lies below its floor by more than posts round.
pub(super) fn below(feed: MmPerTooth, floor: MmPerTooth) -> bool {
    feed.0 < floor.0 * (1.0 - POST_ROUNDING)
}

/// Whether a feed for each edge lies above its ceiling by more than posts round.
pub(super) fn above(feed: MmPerTooth, ceiling: MmPerTooth) -> bool {
    feed.0 > ceiling.0 * (1.0 + POST_ROUNDING)
}

/// The F word of a stretch's first block, or that block where the word is modal.
pub(super) fn feed_in_block(stretch: &Stretch) -> Aim {
    Aim::Word(stretch.first, b'F')
}

/// The word that set the exact stop of a stretch, where the program states it.
pub(super) fn exact_word(stretch: &Stretch) -> Option<Aim> {
    stretch.exact.filter(|(_, at)| *at != UNSTATED).map(|(source, at)| Aim::At { source, at })
}

/// The laminate a stretch lies in.
pub(super) fn laminate<'v>(view: &CutView<'v>, stretch: &Stretch) -> Option<&'v Laminate> {
    laminate_of(stretch.zone, view.job)
}

/// A tool and a number that tell causes apart, to 0.001 of it.
pub(super) fn cause(view: &CutView<'_>, number: f64, other: u64) -> Cause {
    (view.cut.tool, libm::round(number * 1000.0).to_bits(), other)
}

/// A tool, what the program commands, and what it should command, so that places cured alike are one finding: remedies
/// in one step of 5 % count as one. House value.
pub(super) fn cause_by_remedy(view: &CutView<'_>, commanded: f64, wanted: Option<f64>) -> Cause {
    let step = wanted.filter(|wanted| *wanted > 0.0).map_or(f64::NAN, |wanted| libm::log(wanted) / libm::log(1.05));
    cause(view, commanded, libm::floor(step).to_bits())
}

/// The worst stretch of each cause, with how many moves and how much length share it.
pub(super) struct Group<'v> {
    /// What tells it apart.
    pub cause: Cause,
    /// The first broken stretch.
    pub first: &'v Stretch,
    /// The worst stretch.
    pub worst: Piece<'v>,
    /// How bad, the more the worse.
    pub excess: f64,
    /// Moves.
    pub moves: u32,
    /// Length, mm.
    pub length: f64,
}

/// Groups broken stretches by cause.
pub(super) fn groups<'v>(broken: impl Iterator<Item = (Cause, f64, Piece<'v>)>) -> Vec<Group<'v>> {
    let mut groups: Vec<Group<'v>> = Vec::new();
    for (cause, excess, piece) in broken {
        let (moves, length) = (piece.0.moves, piece.0.length);
        match groups.iter_mut().find(|group| group.cause == cause) {
            Some(group) => {
                group.moves = group.moves.saturating_add(moves);
                group.length += length;
                if excess > group.excess {
                    (group.worst, group.excess) = (piece, excess);
                }
            }
            None => groups.push(Group { cause, first: piece.0, worst: piece, excess, moves, length }),
        }
    }
    groups
}

/// How a stretch comes to its feed for each edge at the wall.
pub(super) fn tooth_line(view: &CutView<'_>, (stretch, reading): Piece<'_>, units: UnitSystem) -> String {
    let (Some(feed), Some(speed), Some(tool), Some(wall)) = (stretch.feed, stretch.speed, view.tool, reading.per_tooth)
    else {
        return String::new();
    };
    let edges = tool.edges.unwrap_or(1);
    let centre = MmPerTooth(wall.0 / reading.wall_factor);
    let line =
        format!("{} / {} / {edges} edges = {}", units.feed(MmPerMin(feed)), RevPerMin(speed), units.per_tooth(centre));
    match stretch.path {
        Path::Arc { radius, inside } if reading.wall_factor != 1.0 => {
            let own = tool.diameter.0 / 2.0;
            let wall_radius = if inside { radius + own } else { radius - own };
            format!(
                "{line} at the tool centre on {}; the wall at {} moves {} times as fast: {}",
                units.length(Millimetres(radius)),
                units.length(Millimetres(wall_radius)),
                trimmed(reading.wall_factor, 3),
                units.per_tooth(wall)
            )
        }
        _ => line,
    }
}

/// Adds the overrides that keep every limit of a cut.
pub(super) fn with_band(report: Report, view: &CutView<'_>) -> Report {
    band_line(&OverrideBand::of_cut(view.readings.each()), "cut").into_iter().fold(report, Report::why)
}

/// Feed of the centre at which the wall of a stretch sees `target`, mm/min.
pub(super) fn centre_feed(view: &CutView<'_>, (stretch, reading): Piece<'_>, target: MmPerTooth) -> Option<MmPerMin> {
    let (speed, edges) = (stretch.speed?, view.tool?.edges?);
    Some(target.per_rev(edges) * RevPerMin(speed) * (1.0 / reading.wall_factor))
}

/// Notes what keeps the feed of a cut from being judged; true when nothing does.
pub(super) fn can_judge_feed(view: &CutView<'_>, cx: &mut Context<'_>) -> bool {
    let Some(tool) = view.tool else {
        if view.cut.tool != 0 {
            cx.not_checked("the tool is not in the job file", format!("tool.{}", view.cut.tool));
        }
        return false;
    };
    if tool.kind.makes_holes() || cx.laminate().is_none() {
        return false;
    }
    if tool.edges.is_none() {
        cx.not_checked("the tool's edges are not given", format!("tool.{}.edges", tool.number));
        return false;
    }
    true
}

/// A limit that a specification need not state, or a note that none is given.
pub(super) fn stated<'l, T>(
    limit: Option<&'l Limit<T>>,
    cx: &mut Context<'_>,
    laminate: &Laminate,
    key: &str,
) -> Option<&'l Limit<T>> {
    // Every stretch would say it again, and wording it costs more than everything else about the stretch.
    if limit.is_none() && cx.speaks_first_of(&laminate.name) {
        let key = format!("laminate.{}.trim.{key}", laminate.name);
        cx.no_limit(format!("`{key}` is not given"), key);
    }
    limit
}

/// Whether a tool is one of those that trim.
pub(super) fn trims(kind: &ToolKind) -> bool {
    !kind.makes_holes()
}

/// Whether a tool cuts with its end right to the middle.
pub(super) fn cuts_to_centre(kind: &ToolKind) -> bool {
    match kind {
        ToolKind::EndMill { end_cutting, .. }
        | ToolKind::Router { end_cutting }
        | ToolKind::CompressionRouter { end_cutting, .. }
        | ToolKind::SerratedRougher { end_cutting } => *end_cutting,
        ToolKind::BallMill => true,
        _ => kind.makes_holes(),
    }
}
