//! `[[holes]]`: every position of the drawing worked out, from a list, a circle, a grid or a file.

use super::amount::Amount;
use super::at::At;
use super::reader::{Given, Reader};
use super::{JobFiles, positions_file};
use crate::job::fit;
use crate::job::{HoleGroup, HolePosition};
use crate::source::Span;
use crate::units::{Degrees, Millimetres};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeSet;

/// How far a hole may lie from its position and still be that hole, where the drawing says nothing; house value.
const POSITION_TOLERANCE: Millimetres = Millimetres(0.1);

/// Most holes that one circle or grid may make; a slip of the pen must not fill the memory. House value.
const MOST_HOLES: u32 = 1_000_000;

/// A group of holes of the drawing.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct HolesTable {
    /// Id of the group; holes without a name of their own are numbered after it.
    #[schemars(required)]
    id: Option<At<String>>,
    /// Drawing diameter.
    #[schemars(required)]
    diameter: Given,
    /// Upper and lower limit of the diameter, as differences from nominal.
    limits: Option<At<[At<Amount>; 2]>>,
    /// Hole class, such as `H8`.
    class: Option<At<String>>,
    /// Whether it goes through.
    through: Option<At<bool>>,
    /// Depth of a blind hole at full diameter.
    depth: Given,
    /// Tools in the order they should come, pilot first.
    tools: Option<Vec<u32>>,
    /// Countersink at the entry face.
    countersink: Option<CountersinkTable>,
    /// How far a hole may lie from its position.
    position_tolerance: Given,
    /// Positions one by one.
    positions: Option<At<Vec<PositionTable>>>,
    /// Positions on a circle.
    circle: Option<At<CircleTable>>,
    /// Positions in rows and columns.
    grid: Option<At<GridTable>>,
    /// A file of positions with columns id, x and y.
    file: Option<At<String>>,
    /// Whether reports name it as critical.
    critical: Option<bool>,
}

/// Countersink diameter at the entry face and included angle.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CountersinkTable {
    /// Diameter.
    #[schemars(required)]
    diameter: Given,
    /// Included angle in degrees.
    #[schemars(required)]
    angle: Given,
}

/// One position.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct PositionTable {
    /// Name.
    id: Option<String>,
    /// X in program coordinates.
    #[schemars(required)]
    x: Given,
    /// Y in program coordinates.
    #[schemars(required)]
    y: Given,
}

/// Evenly spaced positions on a circle, counter-clockwise from `start`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct CircleTable {
    /// Number of holes.
    #[schemars(required)]
    count: Option<At<u32>>,
    /// Diameter of the circle.
    #[schemars(required)]
    diameter: Given,
    /// Angle of the first hole in degrees from X.
    start: Given,
    /// Centre.
    centre: Option<[At<Amount>; 2]>,
}

/// Positions in rows and columns, row by row from `at`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct GridTable {
    /// Holes along X.
    #[schemars(required)]
    columns: Option<At<u32>>,
    /// Holes along Y.
    #[schemars(required)]
    rows: Option<At<u32>>,
    /// Distance along X and along Y.
    #[schemars(required)]
    pitch: Option<[At<Amount>; 2]>,
    /// First hole.
    at: Option<[At<Amount>; 2]>,
}

/// A position whose name may still be missing.
pub(super) struct Place {
    pub id: Option<String>,
    pub x: Millimetres,
    pub y: Millimetres,
}

/// All groups, with ids that occur once.
pub(super) fn holes(raw: &[At<HolesTable>], files: &dyn JobFiles, reader: &mut Reader) -> Vec<HoleGroup> {
    let mut groups = BTreeSet::new();
    let mut names = BTreeSet::new();
    let mut read = Vec::new();
    for (index, raw) in raw.iter().enumerate() {
        if let Some(id) = raw.value.id.as_ref().filter(|id| !groups.insert(id.value.clone())) {
            reader.error(id.span, format!("two hole groups are called `{}`", id.value), None);
        }
        let group = reader.within(&format!("holes.{}", index + 1), |reader| group(raw, files, reader));
        for position in group.iter().flat_map(|group| &group.positions) {
            if !names.insert(position.id.clone()) {
                reader.error(raw.span, format!("two holes are called `{}`", position.id), None);
            }
        }
        read.extend(group);
    }
    read
}

fn group(raw: &At<HolesTable>, files: &dyn JobFiles, reader: &mut Reader) -> Option<HoleGroup> {
    let At { value: raw, span } = raw;
    let diameter = reader.positive::<Millimetres>("diameter", &raw.diameter);
    let depth = reader.positive::<Millimetres>("depth", &raw.depth);
    let through = match (raw.through.as_ref().map(|through| through.value), &raw.depth) {
        (Some(true), Some(depth)) => {
            reader.error(depth.span, format!("`{}` is both through and blind", reader.path()), None);
            None
        }
        (Some(true), None) => Some(true),
        (_, Some(_)) => Some(false),
        (_, None) => {
            let help = "say `through = true`, or give `depth`".to_owned();
            reader.error(*span, format!("how deep `{}` goes is not clear", reader.path()), Some(help));
            None
        }
    };
    let diameter_limits = limits(raw, reader);
    let countersink = raw
        .countersink
        .as_ref()
        .and_then(|raw| reader.within("countersink", |reader| countersink(raw, diameter, reader)));
    let position_tolerance = reader.not_negative("position_tolerance", &raw.position_tolerance);
    let places = places(raw, *span, files, reader);
    let id = raw.id.as_ref()?.value.clone();
    let named = |(index, place): (usize, Place)| HolePosition {
        id: place.id.unwrap_or_else(|| format!("{id}{}", index + 1)),
        x: place.x,
        y: place.y,
    };
    let positions = places?.into_iter().enumerate().map(named).collect();
    Some(HoleGroup {
        diameter: diameter?,
        diameter_limits,
        class: raw.class.as_ref().map(|class| class.value.clone()),
        through: through?,
        depth,
        tools: raw.tools.clone().unwrap_or_default(),
        countersink,
        position_tolerance: position_tolerance.unwrap_or(POSITION_TOLERANCE),
        positions,
        critical: raw.critical.unwrap_or(false),
        id,
    })
}

/// Diameter and angle of a countersink around a hole of `hole`, which it must be wider than.
fn countersink(
    raw: &CountersinkTable,
    hole: Option<Millimetres>,
    reader: &mut Reader,
) -> Option<(Millimetres, Degrees)> {
    let diameter = reader.positive::<Millimetres>("diameter", &raw.diameter);
    let angle = reader.positive::<Degrees>("angle", &raw.angle);
    let wider = |(sink, hole): (Millimetres, Millimetres)| sink > hole;
    if let Some((sink, hole)) = diameter.zip(hole).filter(|sizes| !wider(*sizes)) {
        let (sink, hole) = (reader.length(sink.0), reader.length(hole.0));
        let span = raw.diameter.as_ref().map(|given| given.span)?;
        let message = format!("`{}` is {sink}, no wider than its hole of {hole}", reader.key("diameter"));
        reader.error(span, message, Some("give the diameter of the sunk head at the entry face".to_owned()));
        return None;
    }
    diameter.zip(angle)
}

/// Limits as given; a hole class is only looked up.
fn limits(raw: &HolesTable, reader: &mut Reader) -> Option<(Millimetres, Millimetres)> {
    if let Some(class) = raw.class.as_ref().filter(|class| !fit::CLASSES.contains(&class.value.as_str())) {
        reader.unknown(class.span, format!("unknown hole class `{}`", class.value), &class.value, &fit::CLASSES);
    }
    let At { value: [upper, lower], span } = raw.limits.as_ref()?;
    let (upper, lower) = (reader.one_any::<Millimetres>("limits", upper), reader.one_any("limits", lower));
    let (upper, lower) = (upper?, lower?);
    if upper < lower {
        let help = Some("the upper limit stands first".to_owned());
        reader.error(*span, format!("`{}` must run from more to less", reader.key("limits")), help);
        return None;
    }
    Some((upper, lower))
}

fn places(raw: &HolesTable, span: Span, files: &dyn JobFiles, reader: &mut Reader) -> Option<Vec<Place>> {
    match (&raw.positions, &raw.circle, &raw.grid, &raw.file) {
        (Some(list), None, None, None) => listed(list, reader),
        (None, Some(circle), None, None) => reader.within("circle", |reader| on_circle(circle, reader)),
        (None, None, Some(grid), None) => reader.within("grid", |reader| in_grid(grid, reader)),
        (None, None, None, Some(file)) => positions_file::read(file, files, reader),
        _ => {
            let help = "give one of `positions`, `circle`, `grid` and `file`".to_owned();
            reader.error(span, format!("where the holes of `{}` are is not clear", reader.path()), Some(help));
            None
        }
    }
}

fn listed(list: &At<Vec<PositionTable>>, reader: &mut Reader) -> Option<Vec<Place>> {
    if list.value.is_empty() {
        reader.error(list.span, format!("`{}` is empty", reader.key("positions")), None);
        return None;
    }
    let place = |raw: &PositionTable| {
        let (x, y) = (reader.any("positions.x", &raw.x), reader.any("positions.y", &raw.y));
        Some(Place { id: raw.id.clone(), x: x?, y: y? })
    };
    list.value.iter().map(place).collect::<Vec<_>>().into_iter().collect()
}

/// x = cx + r cos a, y = cy + r sin a, in steps of 360 deg / count.
fn on_circle(At { value: raw, span }: &At<CircleTable>, reader: &mut Reader) -> Option<Vec<Place>> {
    let count = reader.count("count", raw.count.as_ref());
    let diameter = reader.positive::<Millimetres>("diameter", &raw.diameter);
    let start = reader.any::<Degrees>("start", &raw.start).unwrap_or_default();
    let (x, y) = point("centre", raw.centre.as_ref(), reader);
    let (count, radius) = (sane(count?, *span, reader)?, diameter? * 0.5);
    let step = 360.0 / f64::from(count);
    let at = |index: u32| {
        let angle = (start.0 + step * f64::from(index)).to_radians();
        Place { id: None, x: x + radius * libm::cos(angle), y: y + radius * libm::sin(angle) }
    };
    Some((0..count).map(at).collect())
}

fn in_grid(At { value: raw, span }: &At<GridTable>, reader: &mut Reader) -> Option<Vec<Place>> {
    let (columns, rows) = (reader.count("columns", raw.columns.as_ref()), reader.count("rows", raw.rows.as_ref()));
    let [along_x, along_y] = raw.pitch.as_ref()?;
    let pitch = (reader.one::<Millimetres>("pitch", along_x), reader.one::<Millimetres>("pitch", along_y));
    let (x, y) = point("at", raw.at.as_ref(), reader);
    let (columns, rows, (along_x, along_y)) = (columns?, rows?, (pitch.0?, pitch.1?));
    sane(columns.saturating_mul(rows), *span, reader)?;
    let at =
        |row: u32, column: u32| Place { id: None, x: x + along_x * f64::from(column), y: y + along_y * f64::from(row) };
    Some((0..rows).flat_map(|row| (0..columns).map(move |column| at(row, column))).collect())
}

/// `count`, if a part could have so many holes.
fn sane(count: u32, span: Span, reader: &mut Reader) -> Option<u32> {
    if count > MOST_HOLES {
        reader.error(span, format!("`{}` makes {count} holes, more than {MOST_HOLES}", reader.path()), None);
    }
    (count <= MOST_HOLES).then_some(count)
}

/// A point in X and Y; the origin when left out.
fn point(name: &str, raw: Option<&[At<Amount>; 2]>, reader: &mut Reader) -> (Millimetres, Millimetres) {
    let Some([x, y]) = raw else { return Default::default() };
    (reader.one_any(name, x).unwrap_or_default(), reader.one_any(name, y).unwrap_or_default())
}
