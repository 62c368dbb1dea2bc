//! A contour from its corners, a rectangle, a circle or a slot, counterclockwise and without a crossing.

use super::amount::Amount;
use super::at::At;
use super::reader::{Given, Pair, Reader};
use crate::job::{Vertex, Workpiece, contour};
use crate::source::Span;
use crate::units::{Degrees, Millimetres};
use i_overlay::core::fill_rule::FillRule;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::float::single::SingleFloatOverlay;
use schemars::JsonSchema;
use serde::Deserialize;

/// How far a chord may stray from its arc, mm, where contours are compared; house value.
pub(super) const CHORD_ERROR: f64 = 0.01;

/// Most corners of one contour; checks of crossings must end. House value.
const MOST_CORNERS: usize = 5_000;

/// Most points of one contour with its arcs as chords. House value.
const MOST_POINTS: usize = 50_000;

/// Corners nearer than this are one, mm; house value.
const ONE_PLACE: f64 = 0.001;

/// One corner, and the edge that ends at it.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct CornerTable {
    /// X in program coordinates.
    #[schemars(required)]
    x: Given,
    /// Y in program coordinates.
    #[schemars(required)]
    y: Given,
    /// Sense of the arc that ends here; the edge is straight when left out.
    arc: Option<At<ArcWord>>,
    /// Radius of that arc, which turns at most half round.
    radius: Given,
}

/// Sense of an arc.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum ArcWord {
    /// Clockwise.
    Cw,
    /// Counterclockwise.
    Ccw,
}

/// An axis-parallel rectangle.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RectangleTable {
    /// Least and most X.
    #[schemars(required)]
    x: Pair,
    /// Least and most Y.
    #[schemars(required)]
    y: Pair,
    /// Radius of its corners; sharp when left out.
    corner: Given,
}

/// A circle.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RoundTable {
    /// Centre.
    #[schemars(required)]
    at: Option<[At<Amount>; 2]>,
    /// Diameter.
    #[schemars(required)]
    diameter: Given,
}

/// A slot with round ends.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct SlotTable {
    /// Centre.
    #[schemars(required)]
    at: Option<[At<Amount>; 2]>,
    /// Whole length, ends included.
    #[schemars(required)]
    length: Given,
    /// Width.
    #[schemars(required)]
    width: Given,
    /// Direction of its length in degrees from X.
    angle: Given,
}

/// The ways a table may give one contour.
#[derive(Clone, Copy, Default)]
pub(super) struct Drawn<'t> {
    pub outline: Option<&'t At<Vec<At<CornerTable>>>>,
    pub rectangle: Option<&'t At<RectangleTable>>,
    pub circle: Option<&'t At<RoundTable>>,
    pub slot: Option<&'t At<SlotTable>>,
}

impl Drawn<'_> {
    /// Whether the table gives one at all.
    pub fn is_given(&self) -> bool {
        self.outline.is_some() || self.rectangle.is_some() || self.circle.is_some() || self.slot.is_some()
    }

    /// The contour, counterclockwise, with its place in the file. `span` is the table's, for a contour that is missing.
    pub fn read(&self, span: Span, ways: &str, reader: &mut Reader) -> Option<(Vec<Vertex>, Span)> {
        match (self.outline, self.rectangle, self.circle, self.slot) {
            (Some(raw), None, None, None) => {
                let read = reader.within("outline", |reader| listed(raw, reader))?;
                Some((read, raw.span))
            }
            (None, Some(raw), None, None) => {
                let read = reader.within("rectangle", |reader| rectangle(raw, reader))?;
                Some((read, raw.span))
            }
            (None, None, Some(raw), None) => {
                let radius = reader.within("circle", |reader| {
                    let at = point(raw.value.at.as_ref(), reader);
                    Some((at?, reader.positive::<Millimetres>("diameter", &raw.value.diameter)?.0 / 2.0))
                })?;
                Some((contour::circle(radius.0, radius.1), raw.span))
            }
            (None, None, None, Some(raw)) => {
                let read = reader.within("slot", |reader| slot(raw, reader))?;
                Some((read, raw.span))
            }
            _ => {
                let message = format!("the contour of `{}` is not clear", reader.path());
                reader.error(span, message, Some(format!("give one of {ways}")));
                None
            }
        }
    }
}

/// A point outside an `Option`.
pub(super) fn point(raw: Option<&[At<Amount>; 2]>, reader: &mut Reader) -> Option<[f64; 2]> {
    let [x, y] = raw?;
    let (x, y) = (reader.one_any::<Millimetres>("at", x), reader.one_any::<Millimetres>("at", y));
    Some([x?.0, y?.0])
}

fn rectangle(At { value: raw, span }: &At<RectangleTable>, reader: &mut Reader) -> Option<Vec<Vertex>> {
    let (x, y) = (reader.pair::<Millimetres>("x", &raw.x), reader.pair::<Millimetres>("y", &raw.y));
    let corner = match &raw.corner {
        Some(_) => reader.not_negative::<Millimetres>("corner", &raw.corner)?,
        None => Millimetres(0.0),
    };
    let (x, y) = (x?, y?);
    let room = (x.1 - x.0).0.min((y.1 - y.0).0) / 2.0;
    if corner.0 > room {
        let help = Some(format!("at most {} fits", reader.length(room)));
        reader.error(*span, format!("`{}` is too large for its rectangle", reader.key("corner")), help);
        return None;
    }
    Some(contour::rectangle((x.0.0, x.1.0), (y.0.0, y.1.0), corner.0))
}

fn slot(At { value: raw, span }: &At<SlotTable>, reader: &mut Reader) -> Option<Vec<Vertex>> {
    let at = point(raw.at.as_ref(), reader);
    let (length, width) = (reader.positive("length", &raw.length), reader.positive("width", &raw.width));
    let angle = reader.any::<Degrees>("angle", &raw.angle).unwrap_or_default();
    let (length, width): (Millimetres, Millimetres) = (length?, width?);
    if length <= width {
        let help = Some("the length counts the round ends; a round opening is a `circle`".to_owned());
        reader.error(*span, format!("`{}` must be longer than it is wide", reader.path()), help);
        return None;
    }
    Some(contour::slot(at?, length.0, width.0, angle.0))
}

/// Corners one by one. The file gives the edge that ends at a corner, a [`Vertex`] the one that leaves it.
fn listed(raw: &At<Vec<At<CornerTable>>>, reader: &mut Reader) -> Option<Vec<Vertex>> {
    let count = raw.value.len();
    if !(3..=MOST_CORNERS).contains(&count) {
        let help = Some(format!("a contour has from 3 to {MOST_CORNERS} corners and closes by itself"));
        reader.error(raw.span, format!("`{}` has {count} corners", reader.path()), help);
        return None;
    }
    // Every corner is read before the first bad one ends the contour, so that each fault is told.
    let corner = |(index, raw): (usize, &At<CornerTable>)| {
        reader.within(&(index + 1).to_string(), |reader| {
            let (x, y) = (reader.any::<Millimetres>("x", &raw.value.x), reader.any::<Millimetres>("y", &raw.value.y));
            Some([x?.0, y?.0])
        })
    };
    let corners: Vec<Option<[f64; 2]>> = raw.value.iter().enumerate().map(corner).collect();
    let corners: Vec<[f64; 2]> = corners.into_iter().collect::<Option<_>>()?;
    let before = corners.last().into_iter().chain(&corners);
    let sides = raw.value.iter().zip(before.zip(&corners)).enumerate();
    let bulges: Vec<Option<f64>> = sides
        .map(|(index, (raw, (from, to)))| {
            reader.within(&(index + 1).to_string(), |reader| edge(raw, *from, *to, reader))
        })
        .collect();
    let bulges: Vec<f64> = bulges.into_iter().collect::<Option<_>>()?;
    let leaving = bulges.iter().skip(1).chain(bulges.first());
    let contour: Vec<Vertex> =
        corners.into_iter().zip(leaving).map(|(at, bulge)| Vertex { at, bulge: *bulge }).collect();
    simple(&contour, raw.span, reader)?;
    let area = contour::area(&contour);
    if area.abs() < ONE_PLACE {
        reader.error(raw.span, format!("`{}` encloses nothing", reader.path()), None);
        return None;
    }
    Some(if area < 0.0 { contour::reversed(&contour) } else { contour })
}

/// Bulge of the edge that ends at a corner.
fn edge(At { value: raw, span }: &At<CornerTable>, from: [f64; 2], to: [f64; 2], reader: &mut Reader) -> Option<f64> {
    let chord = libm::hypot(to[0] - from[0], to[1] - from[1]);
    if chord < ONE_PLACE {
        let help = Some("a contour closes by itself; leave one of the two out".to_owned());
        reader.error(*span, format!("corner `{}` lies on the one before it", reader.path()), help);
        return None;
    }
    match (&raw.arc, &raw.radius) {
        (None, None) => Some(0.0),
        (Some(sense), Some(_)) => {
            let radius = reader.positive::<Millimetres>("radius", &raw.radius)?;
            let bulge = contour::bulge_of(chord, radius.0, sense.value == ArcWord::Ccw);
            if bulge.is_none() {
                let (radius, chord) = (reader.length(radius.0), reader.length(chord));
                let message = format!("`{}` is {radius}, too small for a chord of {chord}", reader.key("radius"));
                reader.error(*span, message, Some("it must be at least half the chord".to_owned()));
            }
            bulge
        }
        _ => {
            let help = "an arc has both, a straight edge neither".to_owned();
            reader.error(*span, format!("`{}` needs `arc` and `radius` together", reader.path()), Some(help));
            None
        }
    }
}

/// Tells a contour that crosses or touches itself.
fn simple(contour: &[Vertex], span: Span, reader: &mut Reader) -> Option<()> {
    let polygon = contour::points(contour, CHORD_ERROR);
    if polygon.len() > MOST_POINTS {
        reader.error(span, format!("the arcs of `{}` are too large to be drawn", reader.path()), None);
        return None;
    }
    let Some(at) = contour::crossing(&polygon) else { return Some(()) };
    let help = "list its corners in order round the part, each once".to_owned();
    reader.error(span, format!("`{}` crosses or touches itself at {}", reader.path(), reader.place(at)), Some(help));
    None
}

/// Whether two contours share more area than chords on their common edges can make. A corner well inside settles it;
/// else the area that both cover does.
pub(super) fn overlap(one: &[[f64; 2]], other: &[[f64; 2]]) -> bool {
    let deep = |points: &[[f64; 2]], within: &[[f64; 2]]| {
        points.iter().any(|point| contour::inside(*point, within) && contour::distance(*point, within) > CHORD_ERROR)
    };
    if deep(one, other) || deep(other, one) {
        return true;
    }
    let shared = one.overlay_as::<i64>(&other, OverlayRule::Intersect, FillRule::NonZero);
    let corners = |shape: &[Vec<[f64; 2]>]| -> Vec<Vertex> {
        shape.iter().flatten().map(|at| Vertex { at: *at, bulge: 0.0 }).collect()
    };
    shared.iter().any(|shape| {
        let outer = corners(shape.get(..1).unwrap_or_default());
        let length: f64 = contour::edges(&outer).map(|(from, to, _)| apart(from, to)).sum();
        contour::area(&outer).abs() > CHORD_ERROR * length
    })
}

/// A corner that lies outside the outline and further from it than the raw margin; none without an outline.
pub(super) fn stray(polygon: &[[f64; 2]], panel: &Workpiece) -> Option<[f64; 2]> {
    let outline = contour::points(&panel.outline, CHORD_ERROR);
    let reach = panel.raw_margin.0 + 2.0 * CHORD_ERROR;
    let beyond =
        |corner: &[f64; 2]| !contour::inside(*corner, &outline) && contour::distance(*corner, &outline) > reach;
    polygon.iter().copied().find(|corner| !outline.is_empty() && beyond(corner))
}

fn apart(one: [f64; 2], other: [f64; 2]) -> f64 {
    libm::hypot(one[0] - other[0], one[1] - other[1])
}
