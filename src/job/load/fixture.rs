//! `[fixture]`: table, backing and zones.

use super::amount::Amount;
use super::at::At;
use super::reader::{Given, Pair, Reader};
use crate::job::{Fixture, Zone, ZoneKind, ZoneShape};
use schemars::JsonSchema;
use serde::Deserialize;
use std::collections::BTreeSet;

/// What stands around the part.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FixtureTable {
    /// Clamps, posts and zones; an empty list says that nothing stands there.
    zones: Option<Vec<At<ZoneTable>>>,
    /// Height of the table's face in program coordinates.
    table_z: Given,
    /// Thickness of a backing pressed against the exit face.
    pub(super) backing: Given,
}

/// One zone: a box from `x` and `y`, or a cylinder from `at` and `diameter`.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ZoneTable {
    /// Id in reports.
    #[schemars(required)]
    id: Option<At<String>>,
    /// What it is.
    #[schemars(required)]
    kind: Option<ZoneKind>,
    /// Least and most X of a box.
    x: Pair,
    /// Least and most Y of a box.
    y: Pair,
    /// Bottom and top; without them it reaches without end.
    z: Pair,
    /// Centre of a cylinder.
    at: Option<[At<Amount>; 2]>,
    /// Diameter of a cylinder.
    diameter: Given,
    /// How far it may stand from where it is drawn.
    tolerance: Given,
}

/// The fixture of a raw table.
pub(super) fn fixture(raw: &FixtureTable, reader: &mut Reader) -> Fixture {
    let mut ids = BTreeSet::new();
    let mut zones = Vec::new();
    for (index, raw) in raw.zones.iter().flatten().enumerate() {
        if let Some(id) = raw.value.id.as_ref().filter(|id| !ids.insert(id.value.clone())) {
            reader.error(id.span, format!("two zones are called `{}`", id.value), None);
        }
        zones.extend(reader.within(&format!("zones.{}", index + 1), |reader| zone(raw, reader)));
    }
    let listed = raw.zones.is_some();
    Fixture {
        zones,
        listed,
        table_z: reader.any("table_z", &raw.table_z),
        backing: reader.positive("backing", &raw.backing),
    }
}

fn zone(raw: &At<ZoneTable>, reader: &mut Reader) -> Option<Zone> {
    let At { value: raw, span } = raw;
    let shape = match (&raw.x, &raw.y, &raw.at, &raw.diameter) {
        (Some(_), Some(_), None, None) => {
            let (x, y) = (reader.pair("x", &raw.x), reader.pair("y", &raw.y));
            x.zip(y).map(|(x, y)| ZoneShape::Box { x, y })
        }
        (None, None, Some([x, y]), Some(_)) => {
            let (x, y) = (reader.one_any("at", x), reader.one_any("at", y));
            let diameter = reader.positive("diameter", &raw.diameter);
            x.zip(y).zip(diameter).map(|(at, diameter)| ZoneShape::Cylinder { at, diameter })
        }
        _ => {
            let help = "give `x` and `y` for a box, or `at` and `diameter` for a cylinder".to_owned();
            reader.error(*span, format!("the shape of `{}` is not clear", reader.path()), Some(help));
            None
        }
    };
    let z = reader.pair("z", &raw.z);
    let tolerance = reader.not_negative("tolerance", &raw.tolerance).unwrap_or_default();
    Some(Zone {
        id: raw.id.as_ref()?.value.clone(),
        kind: raw.kind?,
        shape: shape?,
        z: (z.map(|z| z.0), z.map(|z| z.1)),
        tolerance,
    })
}
