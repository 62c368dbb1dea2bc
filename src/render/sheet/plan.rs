//! The part from above: outline, holes and edges by shape and letter, what stands around it, and the way at rapid.

use super::Scene;
use crate::job::{Job, ZoneShape, contour};
use crate::units::trimmed;
use askama::Template;
use std::collections::BTreeSet;
use std::fmt::Write;

/// Width and height the drawing may take, pixels.
const ROOM: (f64, f64) = (480.0, 320.0);
/// Margin round it, and what names need besides to the right, pixels.
const MARGIN: f64 = 10.0;
const NAMES: f64 = 24.0;
/// Chord error of drawn arcs, mm.
const CHORD: f64 = 0.2;
/// Holes named one by one; of more only the first and last of each group are. House value.
const MOST_NAMED: usize = 90;
/// Least radius of a hole's mark, pixels.
const LEAST: f64 = 3.0;

/// The drawing.
#[derive(Template)]
#[template(path = "plan.svg", config = "src/render/sheet/askama.toml", escape = "html")]
pub(super) struct Plan {
    width: f64,
    height: f64,
    outlines: Vec<String>,
    edges: Vec<Named>,
    zones: Vec<ZoneMark>,
    holes: Vec<HoleMark>,
    rapids: String,
    cuts: String,
    origin: Option<(f64, f64)>,
    start: Option<(f64, f64)>,
    alt: String,
    pub cut_off: bool,
    pub key: Vec<(&'static str, String)>,
}

impl Plan {
    /// Whether it takes more than half the paper's width to be read.
    pub fn is_wide(&self) -> bool {
        self.width > 1.25 * self.height
    }
}

struct Named {
    path: String,
    at: (f64, f64),
    name: String,
}

struct ZoneMark {
    path: String,
    at: (f64, f64),
    name: String,
}

struct HoleMark {
    shape: String,
    label: String,
    at: (f64, f64),
}

/// From program mm to pixels.
struct Frame {
    least: [f64; 2],
    most: [f64; 2],
    scale: f64,
}

impl Frame {
    /// Round all these places; `None` when they are none or have no extent.
    fn around(places: impl Iterator<Item = [f64; 2]>) -> Option<Self> {
        let (mut least, mut most) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for [x, y] in places.filter(|at| at.iter().all(|at| at.is_finite() && at.abs() < 1e6)) {
            least = [least[0].min(x), least[1].min(y)];
            most = [most[0].max(x), most[1].max(y)];
        }
        let size = [most[0] - least[0], most[1] - least[1]];
        if !size.iter().all(|size| size.is_finite()) {
            return None;
        }
        // A single row of holes has a width of its own.
        let pad = size[0].max(size[1]).max(1.0) * 0.04;
        let (least, most) = ([least[0] - pad, least[1] - pad], [most[0] + pad, most[1] + pad]);
        let scale = (ROOM.0 / (most[0] - least[0])).min(ROOM.1 / (most[1] - least[1]));
        Some(Self { least, most, scale })
    }

    fn place(&self, [x, y]: [f64; 2]) -> (f64, f64) {
        let rounded = |value: f64| libm::round(value * 10.0) / 10.0;
        (rounded(MARGIN + (x - self.least[0]) * self.scale), rounded(MARGIN + (self.most[1] - y) * self.scale))
    }

    fn size(&self) -> (f64, f64) {
        let side = |axis: usize| {
            let (least, most) = (self.least.get(axis).copied(), self.most.get(axis).copied());
            libm::ceil((most.unwrap_or(0.0) - least.unwrap_or(0.0)) * self.scale + 2.0 * MARGIN)
        };
        (side(0) + NAMES, side(1))
    }

    /// A closed path.
    fn closed(&self, points: &[[f64; 2]]) -> String {
        let mut path = String::new();
        for (index, point) in points.iter().enumerate() {
            let (x, y) = self.place(*point);
            // Writing to a string cannot fail.
            let _ = write!(path, "{}{} {}", if index == 0 { "M" } else { "L" }, trimmed(x, 1), trimmed(y, 1));
        }
        path + "Z"
    }

    /// Moves one after another; a gap lifts the pen.
    fn open(&self, ways: &[([f64; 2], [f64; 2])]) -> String {
        let mut path = String::new();
        let mut last = None;
        for (from, to) in ways {
            let (from, to) = (self.place(*from), self.place(*to));
            if last != Some(from) {
                let _ = write!(path, "M{} {}", trimmed(from.0, 1), trimmed(from.1, 1));
            }
            if to != from || last != Some(from) {
                let _ = write!(path, "L{} {}", trimmed(to.0, 1), trimmed(to.1, 1));
            }
            last = Some(to);
        }
        path
    }
}

/// The drawing; `None` when nothing has a place.
pub(super) fn plan(scene: &Scene<'_>) -> Option<Plan> {
    let survey = &scene.book.report.survey;
    let outlines = outlines(scene.job);
    let drawn = scene.course.cuts.iter().chain(&scene.course.rapids).flat_map(|(from, to)| [*from, *to]);
    let holes = survey.holes.iter().map(|hole| [hole.x, hole.y]);
    let zones = scene.job.into_iter().flat_map(|job| &job.fixture.zones).flat_map(|zone| corners(zone.shape));
    let frame = Frame::around(outlines.iter().flatten().copied().chain(drawn).chain(holes).chain(zones))?;
    let (width, height) = frame.size();
    let count = survey.holes.len();
    Some(Plan {
        width,
        height,
        outlines: outlines.iter().map(|points| frame.closed(points)).collect(),
        edges: edges(scene, &frame),
        zones: zone_marks(scene, &frame),
        holes: hole_marks(scene, &frame),
        rapids: frame.open(&scene.course.rapids),
        cuts: frame.open(&scene.course.cuts),
        origin: inside(&frame, [0.0, 0.0]),
        start: scene.course.rapids.first().map(|(from, _)| frame.place(*from)),
        alt: format!("Plan view: {count} holes, {} cuts, fixture and rapid path", survey.cuts.len()),
        cut_off: scene.course.cut_off,
        key: key(scene),
    })
}

fn inside(frame: &Frame, [x, y]: [f64; 2]) -> Option<(f64, f64)> {
    let within =
        |value: f64, axis: usize| frame.least.get(axis) <= Some(&value) && Some(&value) <= frame.most.get(axis);
    (within(x, 0) && within(y, 1)).then(|| frame.place([x, y]))
}

fn outlines(job: Option<&Job>) -> Vec<Vec<[f64; 2]>> {
    let Some(workpiece) = job.and_then(|job| job.workpiece.as_ref()) else { return Vec::new() };
    let outer = Some(&workpiece.outline).filter(|outline| !outline.is_empty());
    let contours = outer.into_iter().chain(workpiece.zones.iter().map(|zone| &zone.outline));
    let holes = workpiece.holes.iter().map(|(at, diameter)| contour::circle(*at, diameter / 2.0));
    let mut points: Vec<_> = contours.map(|contour| contour::points(contour, CHORD)).collect();
    points.extend(holes.map(|circle| contour::points(&circle, CHORD)));
    points
}

fn edges(scene: &Scene<'_>, frame: &Frame) -> Vec<Named> {
    let groups = scene.job.into_iter().flat_map(|job| &job.edges);
    groups
        .filter_map(|edge| {
            let points = contour::points(&edge.contour, CHORD);
            let at = frame.place(*points.first()?);
            Some(Named { path: frame.closed(&points), at, name: edge.id.clone() })
        })
        .collect()
}

fn corners(shape: ZoneShape) -> Vec<[f64; 2]> {
    match shape {
        ZoneShape::Box { x, y } => vec![[x.0.0, y.0.0], [x.1.0, y.0.0], [x.1.0, y.1.0], [x.0.0, y.1.0]],
        ZoneShape::Cylinder { at, diameter } => {
            contour::points(&contour::circle([at.0.0, at.1.0], diameter.0 / 2.0), CHORD)
        }
    }
}

fn zone_marks(scene: &Scene<'_>, frame: &Frame) -> Vec<ZoneMark> {
    let zones = scene.job.into_iter().flat_map(|job| &job.fixture.zones);
    zones
        .filter_map(|zone| {
            let points = corners(zone.shape);
            let at = frame.place(*points.first()?);
            Some(ZoneMark { path: frame.closed(&points), at, name: format!("{} {}", zone.kind.word(), zone.id) })
        })
        .collect()
}

/// Shapes by group, in order.
const SHAPES: [&str; 5] = ["circle", "square", "triangle", "diamond", "hexagon"];

fn hole_marks(scene: &Scene<'_>, frame: &Frame) -> Vec<HoleMark> {
    let survey = &scene.book.report.survey;
    let names: BTreeSet<String> = (0..).zip(&survey.holes).map(|(index, _)| scene.book.hole(index)).collect();
    let named = names.len() <= MOST_NAMED;
    let mut seen = BTreeSet::new();
    let mut marks = Vec::new();
    let mut last: Option<usize> = None;
    for (index, hole) in (0..).zip(&survey.holes) {
        let drawn = survey.drawing.of_hole.get(index as usize).copied().flatten();
        let name = scene.book.hole(index);
        let first = hole.x.is_finite() && hole.y.is_finite() && seen.insert(name.clone());
        if !first {
            continue;
        }
        let group = drawn.map_or(usize::MAX, |found| found.group);
        let wanted = scene.job.and_then(|job| job.holes.get(group));
        let tool = survey.recipe_of(hole).and_then(|recipe| scene.job?.tool(recipe.tool));
        let diameter = wanted.map(|wanted| wanted.diameter).or(tool.map(|tool| tool.diameter)).unwrap_or_default();
        let radius = (diameter.0 / 2.0 * frame.scale).max(LEAST);
        let at = frame.place([hole.x, hole.y]);
        let label = if named || last != Some(group) { name } else { String::new() };
        marks.push(HoleMark { shape: shape(group, at, radius), label, at: (at.0 + radius + 2.0, at.1 - radius) });
        last = Some(group);
    }
    marks
}

/// A group's mark round a place: a circle, or a closed path of as many corners as tell groups apart.
fn shape(group: usize, (x, y): (f64, f64), radius: f64) -> String {
    let (corners, turn): (f64, f64) = match SHAPES.get(group % SHAPES.len()).copied().unwrap_or_default() {
        "square" => (4.0, 45.0),
        "triangle" => (3.0, 90.0),
        "diamond" => (4.0, 0.0),
        "hexagon" => (6.0, 0.0),
        _ => (16.0, 0.0),
    };
    let mut path = String::new();
    let mut number = 0.0;
    while number < corners {
        let angle = (turn + 360.0 * number / corners).to_radians();
        let (x, y) = (x + radius * libm::cos(angle), y - radius * libm::sin(angle));
        let _ = write!(path, "{}{} {}", if number == 0.0 { "M" } else { "L" }, trimmed(x, 1), trimmed(y, 1));
        number += 1.0;
    }
    path + "Z"
}

/// What each shape stands for.
fn key(scene: &Scene<'_>) -> Vec<(&'static str, String)> {
    let groups = scene.job.into_iter().flat_map(|job| &job.holes).enumerate();
    let shape = |index: usize| SHAPES.get(index % SHAPES.len()).copied().unwrap_or_default();
    groups.map(|(index, group)| (shape(index), group.id.clone())).collect()
}
