//! Edges: the table of the first article, chip load along each edge, and the speed plan.

use super::chart::{Curve, Pen, chart};
use super::holes::symbol;
use super::{Scene, listed};
use crate::job::{CutDirection, EdgeGroup, Job};
use crate::operation::{Cut, Stretch};
use crate::process::{CutReading, OverrideBand};
use crate::units::{Millimetres, MmPerTooth, UnitSystem};

/// Cuts drawn; of more only the first are. House value.
const MOST_PICTURES: usize = 12;

/// One edge.
pub(super) struct EdgeRow {
    pub name: String,
    pub kind: &'static str,
    pub tools: String,
    pub direction: String,
    pub lowest: String,
    pub chip: String,
    pub band: String,
    pub blocks: String,
}

/// Two charts along one cut.
pub(super) struct SpeedPicture {
    pub title: String,
    pub chip: Option<String>,
    pub speed: Option<String>,
}

/// The edges of the job, then cuts along none of them as one row.
pub(super) fn rows(scene: &Scene<'_>) -> Vec<EdgeRow> {
    let Some(job) = scene.job else { return Vec::new() };
    let edges = job.edges.iter().enumerate().map(|(index, edge)| row(scene, job, Some((index, edge))));
    let stray = scene.book.report.survey.cuts.iter().any(|cut| cut.edge.is_none());
    edges.chain(stray.then(|| row(scene, job, None))).collect()
}

fn row(scene: &Scene<'_>, job: &Job, edge: Option<(usize, &EdgeGroup)>) -> EdgeRow {
    let units = scene.book.report.units;
    let all = scene.book.report.survey.cuts.iter().enumerate();
    let here = all.filter(|(_, cut)| cut.edge == edge.map(|(index, _)| index));
    let (order, cuts): (Vec<usize>, Vec<&Cut>) = here.unzip();
    let from = order.iter().zip(&cuts).filter_map(|(index, cut)| {
        let at = *scene.course.cut_from.get(*index)?;
        let feed = cut.stretches.first().map(|first| scene.feed_above(at, first.first.source, first.feed_at));
        Some(scene.block(at) + &feed.unwrap_or_default())
    });
    let readings: Vec<CutReading> = cuts.iter().flat_map(|cut| CutReading::of(cut, job)).collect();
    let lowest = cuts.iter().map(|cut| cut.lowest).reduce(f64::min);
    let wanted = edge.and_then(|(_, edge)| edge.direction).map(word);
    let made =
        listed(cuts.iter().map(|cut| cut.direction.map_or_else(|| "not known".to_owned(), |d| word(d).to_owned())), 2);
    let direction = match wanted {
        _ if cuts.is_empty() => "NOT CUT".to_owned(),
        Some(wanted) if made == wanted => made,
        Some(wanted) => format!("{made}, drawing {wanted}"),
        None => made,
    };
    EdgeRow {
        name: edge.map_or_else(|| "other cuts".to_owned(), |(_, edge)| edge.id.clone()),
        kind: edge.map_or("-", |(_, edge)| if edge.opening { "opening" } else { "outline" }),
        tools: listed(cuts.iter().map(|cut| format!("T{}", cut.tool)), 3),
        direction,
        lowest: lowest.map_or_else(|| "-".to_owned(), |z| units.coordinate('Z', Millimetres(z))),
        chip: chip(&readings, units),
        band: OverrideBand::of_cut(&readings).text(),
        blocks: listed(from, 3),
    }
}

fn word(direction: CutDirection) -> &'static str {
    match direction {
        CutDirection::Climb => "climb",
        CutDirection::Conventional => "conventional",
    }
}

/// Feed for each edge at the wall, least to most, and the least the machine reaches.
fn chip(readings: &[CutReading], units: UnitSystem) -> String {
    let lasting = || readings.iter().filter(|reading| !reading.brief);
    let fed = || lasting().filter_map(|reading| reading.per_tooth.map(|feed| feed.0));
    let (Some(least), Some(most)) = (fed().reduce(f64::min), fed().reduce(f64::max)) else {
        return "? not known".to_owned();
    };
    let shown = |feed: f64| units.per_tooth(MmPerTooth(feed));
    let reached = lasting().filter_map(|reading| reading.reached_per_tooth.map(|feed| feed.0)).reduce(f64::min);
    let reached = reached.map_or_else(|| "reached not known".to_owned(), |feed| format!("reached {}", shown(feed)));
    if most - least < 1e-6 {
        format!("{}; {reached}", shown(least))
    } else {
        format!("{} to {}; {reached}", shown(least), shown(most))
    }
}

/// Charts of the cuts along the job's edges, in order of cutting; of other cuts where there are no edges.
pub(super) fn pictures(scene: &Scene<'_>) -> Vec<SpeedPicture> {
    let Some(job) = scene.job else { return Vec::new() };
    let along = |cut: &&Cut| job.edges.is_empty() || cut.edge.is_some();
    let cuts = scene.book.report.survey.cuts.iter().filter(along).take(MOST_PICTURES);
    cuts.map(|cut| picture(scene, job, cut)).filter(|one| one.chip.is_some() || one.speed.is_some()).collect()
}

fn picture(scene: &Scene<'_>, job: &Job, cut: &Cut) -> SpeedPicture {
    let units = scene.book.report.units;
    let scale = |value: f64| value / units.mm();
    let readings = CutReading::of(cut, job);
    let mut way = 0.0;
    let mut spans: Vec<(f64, f64, &Stretch, &CutReading)> = Vec::new();
    for (stretch, reading) in cut.stretches.iter().zip(&readings).filter(|(stretch, _)| stretch.length > 0.0) {
        spans.push((scale(way), scale(way + stretch.length), stretch, reading));
        way += stretch.length;
    }
    let curve = |pen: Pen, value: &dyn Fn(&Stretch, &CutReading) -> Option<f64>| {
        Curve::of(
            pen,
            spans.iter().map(|(from, to, stretch, reading)| (*from, *to, value(stretch, reading).map(scale))),
        )
    };
    let chips = [
        curve(Pen::Thin, &|_, reading| reading.floor.as_ref().map(|limit| limit.value.0)),
        curve(Pen::Dashed, &|_, reading| reading.ceiling.as_ref().map(|limit| limit.value.0)),
        curve(Pen::Dotted, &|_, reading| reading.reached_per_tooth.map(|feed| feed.0)),
        curve(Pen::Heavy, &|_, reading| reading.per_tooth.map(|feed| feed.0)),
    ];
    let speeds = [
        curve(Pen::Dotted, &|stretch, _| stretch.reached.map(|(least, ..)| least)),
        curve(Pen::Heavy, &|stretch, _| stretch.feed),
    ];
    let unit = symbol(units);
    let drawn = |curves: Vec<Curve>, up: &str| chart(&curves, &format!("way along the cut, {unit}"), up);
    let edge = cut.edge.and_then(|edge| job.edges.get(edge)).map_or("cut", |edge| edge.id.as_str());
    SpeedPicture {
        title: format!("{edge}, {}, from {}", scene.book.tool(cut.tool), scene.block(cut.first)),
        chip: drawn(chips.into_iter().flatten().collect(), &format!("{unit}/edge at wall")),
        speed: drawn(speeds.into_iter().flatten().collect(), &format!("feed, {unit}/min")),
    }
}
