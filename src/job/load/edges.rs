//! `[[edges]]`: the edges the drawing wants, with their contour, direction, tools and tabs.

use super::at::At;
use super::contour::{CHORD_ERROR, CornerTable, Drawn, RectangleTable, RoundTable, SlotTable, stray};
use super::reader::{Given, Reader};
use crate::job::{CutDirection, EdgeGroup, Vertex, Workpiece, contour};
use crate::source::Span;
use crate::units::Millimetres;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeSet;

/// How far a cut may lie from its contour and still belong to it, where the drawing says nothing; house value.
const TOLERANCE: Millimetres = Millimetres(0.1);

/// An edge the drawing wants.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct EdgeTable {
    /// Id in reports.
    #[schemars(required)]
    id: Option<At<String>>,
    /// The panel's own outline.
    contour: Option<At<ContourWord>>,
    /// A contour of its own, corner by corner.
    outline: Option<At<Vec<At<CornerTable>>>>,
    /// A contour of its own, as a rectangle.
    rectangle: Option<At<RectangleTable>>,
    /// A contour of its own, as a circle.
    circle: Option<At<RoundTable>>,
    /// A contour of its own, as a slot with round ends.
    slot: Option<At<SlotTable>>,
    /// Whether it bounds an opening: material stands outside the contour. A slot does unless this says otherwise.
    opening: Option<At<bool>>,
    /// Whether the edge is a finished one; it is unless this says otherwise.
    finish: Option<bool>,
    /// Direction the finish cut must have.
    direction: Option<CutDirection>,
    /// Tools that may cut it.
    tools: Option<Vec<u32>>,
    /// Tabs that hold the offcut.
    tabs: Option<Vec<At<TabTable>>>,
    /// How far a cut may lie from the contour and still belong to it.
    tolerance: Given,
}

/// Contours known by name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
enum ContourWord {
    /// The outline of `[workpiece]`.
    Outline,
}

/// A tab that holds the offcut until it is cut.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct TabTable {
    /// X of its middle, on the contour.
    #[schemars(required)]
    x: Given,
    /// Y of its middle, on the contour.
    #[schemars(required)]
    y: Given,
    /// Width along the contour.
    #[schemars(required)]
    width: Given,
}

/// All edges, with ids that occur once.
pub(super) fn edges(raw: &[At<EdgeTable>], workpiece: Option<&Workpiece>, reader: &mut Reader) -> Vec<EdgeGroup> {
    let mut ids = BTreeSet::new();
    let mut read = Vec::new();
    for (index, raw) in raw.iter().enumerate() {
        if let Some(id) = raw.value.id.as_ref().filter(|id| !ids.insert(id.value.clone())) {
            reader.error(id.span, format!("two edges are called `{}`", id.value), None);
        }
        read.extend(reader.within(&format!("edges.{}", index + 1), |reader| edge(raw, workpiece, reader)));
    }
    read
}

fn edge(raw: &At<EdgeTable>, workpiece: Option<&Workpiece>, reader: &mut Reader) -> Option<EdgeGroup> {
    let At { value: raw, span } = raw;
    let opening = raw.opening.as_ref().map_or(raw.slot.is_some(), |opening| opening.value);
    let tolerance = reader.not_negative("tolerance", &raw.tolerance).unwrap_or(TOLERANCE);
    let (contour, span) = contour_of(raw, *span, workpiece, reader)?;
    let polygon = contour::points(&contour, CHORD_ERROR);
    if let (Some(word), Some(given)) = (&raw.contour, &raw.opening)
        && given.value
    {
        let help = Some("an opening has a contour of its own".to_owned());
        reader.error(word.span, format!("`{}` makes the panel's outline an opening", reader.path()), help);
    }
    if let Some(corner) = workpiece.and_then(|panel| stray(&polygon, panel)) {
        reader.error(span, format!("`{}` lies outside the panel at {}", reader.path(), reader.place(corner)), None);
    }
    let tabs = raw.tabs.iter().flatten().enumerate();
    let tabs = tabs.map(|(index, raw)| {
        reader.within(&format!("tabs.{}", index + 1), |reader| tab(raw, &polygon, tolerance, reader))
    });
    Some(EdgeGroup {
        tabs: tabs.collect::<Vec<_>>().into_iter().flatten().collect(),
        id: raw.id.as_ref()?.value.clone(),
        contour,
        opening,
        finish: raw.finish.unwrap_or(true),
        direction: raw.direction,
        tools: raw.tools.clone().unwrap_or_default(),
        tolerance,
    })
}

/// The contour, and where the file gives it.
fn contour_of(
    raw: &EdgeTable,
    span: Span,
    workpiece: Option<&Workpiece>,
    reader: &mut Reader,
) -> Option<(Vec<Vertex>, Span)> {
    let drawn = Drawn {
        outline: raw.outline.as_ref(),
        rectangle: raw.rectangle.as_ref(),
        circle: raw.circle.as_ref(),
        slot: raw.slot.as_ref(),
    };
    let ways = "`contour = \"outline\"`, `outline`, `rectangle`, `circle` and `slot`";
    let Some(word) = raw.contour.as_ref().filter(|_| !drawn.is_given()) else {
        let drawn = if raw.contour.is_some() { Drawn::default() } else { drawn };
        return drawn.read(span, ways, reader);
    };
    let outline = workpiece.map(|workpiece| workpiece.outline.clone()).unwrap_or_default();
    if outline.is_empty() {
        let help = Some("draw it in `[workpiece]`".to_owned());
        reader.error(word.span, format!("`{}` names an outline that is not drawn", reader.key("contour")), help);
        return None;
    }
    Some((outline, word.span))
}

/// A tab; one that lies off its contour holds nothing there.
fn tab(
    At { value: raw, span }: &At<TabTable>,
    polygon: &[[f64; 2]],
    tolerance: Millimetres,
    reader: &mut Reader,
) -> Option<([f64; 2], f64)> {
    let (x, y) = (reader.any("x", &raw.x), reader.any("y", &raw.y));
    let width = reader.positive::<Millimetres>("width", &raw.width);
    let (x, y): (Millimetres, Millimetres) = (x?, y?);
    let off = contour::distance([x.0, y.0], polygon);
    if off > tolerance.0 + CHORD_ERROR {
        let message = format!("`{}` lies {} off its contour", reader.path(), reader.length(off));
        reader.error(*span, message, Some("give the middle of the tab, on the finished edge".to_owned()));
        return None;
    }
    Some(([x.0, y.0], width?.0))
}
