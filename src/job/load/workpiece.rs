//! `[workpiece]`: the panel's outline, raw margin, thickness zones and holes already there.

use super::at::At;
use super::contour::{CHORD_ERROR, CornerTable, Drawn, RectangleTable, RoundTable, overlap, stray};
use super::library::Shelf;
use super::reader::{Given, Reader};
use crate::job::{ThicknessZone, Workpiece, contour};
use crate::source::Span;
use crate::units::Millimetres;
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeSet;

/// The panel before this operation.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct WorkpieceTable {
    /// Finished outline, corner by corner.
    outline: Option<At<Vec<At<CornerTable>>>>,
    /// Finished outline as a rectangle.
    rectangle: Option<At<RectangleTable>>,
    /// Finished outline as a circle.
    circle: Option<At<RoundTable>>,
    /// How far raw material stands beyond the outline.
    raw_margin: Given,
    /// Areas with layers of their own.
    zones: Option<Vec<At<ZoneTable>>>,
    /// Holes already there.
    holes: Option<Vec<At<HoleTable>>>,
}

/// An area with layers of its own; its entry face lies in the same plane.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct ZoneTable {
    /// Id in reports.
    #[schemars(required)]
    id: Option<At<String>>,
    /// Laminate there.
    #[schemars(required)]
    laminate: Option<At<String>>,
    /// Where, corner by corner.
    outline: Option<At<Vec<At<CornerTable>>>>,
    /// Where, as a rectangle.
    rectangle: Option<At<RectangleTable>>,
    /// Where, as a circle.
    circle: Option<At<RoundTable>>,
}

/// A hole already there.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct HoleTable {
    /// X in program coordinates.
    #[schemars(required)]
    x: Given,
    /// Y in program coordinates.
    #[schemars(required)]
    y: Given,
    /// Diameter.
    #[schemars(required)]
    diameter: Given,
}

/// The workpiece of a raw table.
pub(super) fn workpiece(raw: &At<WorkpieceTable>, shelf: &Shelf, reader: &mut Reader) -> Workpiece {
    let At { value: raw, span } = raw;
    let drawn = Drawn {
        outline: raw.outline.as_ref(),
        rectangle: raw.rectangle.as_ref(),
        circle: raw.circle.as_ref(),
        slot: None,
    };
    let outline = drawn.is_given().then(|| drawn.read(*span, "`outline`, `rectangle` and `circle`", reader)).flatten();
    let mut workpiece = Workpiece {
        outline: outline.map(|(outline, _)| outline).unwrap_or_default(),
        raw_margin: reader.not_negative("raw_margin", &raw.raw_margin).unwrap_or_default(),
        ..Workpiece::default()
    };
    workpiece.zones = zones(raw, &workpiece, shelf, reader);
    for (index, raw) in raw.holes.iter().flatten().enumerate() {
        workpiece.holes.extend(reader.within(&format!("holes.{}", index + 1), |reader| {
            let (x, y) = (reader.any("x", &raw.value.x), reader.any("y", &raw.value.y));
            let diameter = reader.positive::<Millimetres>("diameter", &raw.value.diameter);
            let (x, y): (Millimetres, Millimetres) = (x?, y?);
            Some(([x.0, y.0], diameter?.0))
        }));
    }
    workpiece
}

/// A zone read, as a polygon with its box for quick comparison.
struct Area {
    id: String,
    polygon: Vec<[f64; 2]>,
    least: [f64; 2],
    most: [f64; 2],
}

fn zones(raw: &WorkpieceTable, workpiece: &Workpiece, shelf: &Shelf, reader: &mut Reader) -> Vec<ThicknessZone> {
    let mut ids = BTreeSet::new();
    let mut areas: Vec<Area> = Vec::new();
    let mut read = Vec::new();
    for (index, raw) in raw.zones.iter().flatten().enumerate() {
        if let Some(id) = raw.value.id.as_ref().filter(|id| !ids.insert(id.value.clone())) {
            reader.error(id.span, format!("two zones are called `{}`", id.value), None);
        }
        let zone = reader.within(&format!("zones.{}", index + 1), |reader| zone(raw, shelf, reader));
        let Some((zone, span)) = zone else { continue };
        let area = Area::of(&zone);
        if let Some(corner) = stray(&area.polygon, workpiece) {
            let message = format!("zone `{}` lies outside the panel at {}", zone.id, reader.place(corner));
            reader.error(span, message, Some("draw it within the outline and its `raw_margin`".to_owned()));
        }
        if let Some(other) = areas.iter().find(|other| other.near(&area) && overlap(&other.polygon, &area.polygon)) {
            let help = Some("layers under one point must be clear; draw the zones edge to edge".to_owned());
            reader.error(span, format!("zones `{}` and `{}` overlap", other.id, zone.id), help);
        }
        areas.push(area);
        read.push(zone);
    }
    read
}

fn zone(raw: &At<ZoneTable>, shelf: &Shelf, reader: &mut Reader) -> Option<(ThicknessZone, Span)> {
    let At { value: raw, span } = raw;
    let drawn = Drawn {
        outline: raw.outline.as_ref(),
        rectangle: raw.rectangle.as_ref(),
        circle: raw.circle.as_ref(),
        slot: None,
    };
    let contour = drawn.read(*span, "`outline`, `rectangle` and `circle`", reader);
    let laminate = raw.laminate.as_ref().and_then(|wanted| shelf.laminate(wanted, reader));
    let (outline, span) = contour?;
    Some((ThicknessZone { id: raw.id.as_ref()?.value.clone(), outline, laminate: laminate? }, span))
}

impl Area {
    fn of(zone: &ThicknessZone) -> Self {
        let polygon = contour::points(&zone.outline, CHORD_ERROR);
        let bound = |pick: fn(f64, f64) -> f64, start: f64| {
            polygon.iter().fold([start; 2], |[x, y], point| [pick(x, point[0]), pick(y, point[1])])
        };
        let (least, most) = (bound(f64::min, f64::INFINITY), bound(f64::max, f64::NEG_INFINITY));
        Self { id: zone.id.clone(), polygon, least, most }
    }

    fn near(&self, other: &Self) -> bool {
        let apart = |least: &[f64; 2], most: &[f64; 2]| least[0] > most[0] || least[1] > most[1];
        !apart(&self.least, &other.most) && !apart(&other.least, &self.most)
    }
}
