//! The limits of feed over the depth of a drilled hole: every layer, zone and ply that bears on the tool there.

use super::plate::{PlateCeiling, PlateStep};
use super::reading::Gap;
use super::window::Terms;
use super::zone::{FeedZone, Zone};
use crate::job::{Laminate, Limit, Tool};
use crate::operation::Point;
use crate::units::{Millimetres, MmPerRev};

/// Lengths below this are rounding, mm.
pub(super) const HAIR: f64 = 1e-6;

/// Limits between two depths of the tool tip.
#[derive(Clone, Debug, PartialEq)]
pub struct DepthLimits {
    /// Tip depth it begins at.
    pub from: Millimetres,
    /// Tip depth it ends at.
    pub to: Millimetres,
    /// Entry, exit or between.
    pub zone: Zone,
    /// Highest floor of all layers in contact.
    pub floor: Option<Limit<MmPerRev>>,
    /// Lowest ceiling of all layers in contact; `None` in a core, of which no fibre rule speaks.
    pub ceiling: Option<Limit<MmPerRev>>,
    /// What the plate model says there.
    pub plate: Option<PlateStep>,
    /// A ceiling that the job file would have to give.
    pub gap: Option<Gap>,
}

/// One layer and the tip depths at which the tool cuts it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Contact {
    pub layer: usize,
    pub from: f64,
    pub to: f64,
}

/// When each layer is being cut: from when the tip, or the part of the point as wide as the hole already there, reaches
/// its top until the full diameter leaves its bottom.
pub(super) fn contacts(laminate: &Laminate, point: &Point, pilot: f64) -> Vec<Contact> {
    let (inside, length) = (lead(point, pilot), point.length().0);
    let count = laminate.layers.len();
    let mut top = 0.0;
    let mut found = Vec::with_capacity(count);
    for (number, layer) in laminate.layers.iter().enumerate() {
        let bottom = top + layer.thickness().0;
        // The thickest part may keep the last layer under the edge for longer.
        let last = number + 1 == count;
        let out = length + if last { laminate.span_of(count).1.0.max(bottom) } else { bottom };
        found.push(Contact { layer: number, from: top + inside, to: out });
        top = bottom;
    }
    found
}

/// Length from the tip to where the point is `diameter` wide; steps and leads between cones are left out.
fn lead(point: &Point, diameter: f64) -> f64 {
    let mut length = 0.0;
    let mut from = point.start.0;
    for cone in &point.cones {
        let to = cone.to.0.min(diameter);
        if to > from {
            length += (to - from) / (2.0 * libm::tan(cone.angle.0.to_radians() / 2.0));
            from = to;
        }
    }
    length
}

/// Limits on the feed of `tool` from the entry face until its full diameter is out, in a hole of `pilot` mm that is there
/// already (0 for none). Neighbouring pieces differ in at least one limit.
///
/// # Errors
/// What the job file leaves out of the point.
pub fn limits_over_depth(laminate: &Laminate, tool: &Tool, pilot: Millimetres) -> Result<Vec<DepthLimits>, Gap> {
    let point = Point::of(tool).ok_or_else(|| Gap::point(tool))?;
    let entry = FeedZone::entry(laminate, &tool.kind, point.length());
    let exit = FeedZone::exit(laminate, &tool.kind, point.length());
    let terms =
        Terms { tool, point: &point, orbit: false, trim: &laminate.trim, entry: entry.as_ref(), exit: exit.as_ref() };
    let contacts = contacts(laminate, &point, pilot.0);
    let plate = PlateCeiling::of(laminate, tool).filter(|_| pilot.0 <= 0.0);
    let column = Column { laminate, terms, contacts, plate };
    Ok(column.pieces())
}

/// A tool in a laminate, cut at every depth where a limit changes.
struct Column<'a> {
    laminate: &'a Laminate,
    terms: Terms<'a>,
    contacts: Vec<Contact>,
    plate: Option<PlateCeiling<'a>>,
}

impl Column<'_> {
    fn pieces(&self) -> Vec<DepthLimits> {
        let mut pieces: Vec<DepthLimits> = Vec::new();
        let mut from = 0.0;
        for to in self.cuts() {
            let piece = self.piece(from, to);
            match pieces.last_mut() {
                Some(before) if before.alike(&piece) => before.to = piece.to,
                _ => pieces.push(piece),
            }
            from = to;
        }
        pieces
    }

    /// Depths at which a limit may change, and the last at which the tool cuts; none twice.
    fn cuts(&self) -> Vec<f64> {
        let out = self.contacts.last().map_or(0.0, |contact| contact.to);
        let zones = [self.terms.entry, self.terms.exit].into_iter().flatten();
        let mut cuts: Vec<f64> = zones.flat_map(|zone| [zone.from.0, zone.to.0]).collect();
        cuts.extend(self.contacts.iter().flat_map(|contact| [contact.from, contact.to]));
        cuts.extend(self.plate.iter().flat_map(PlateCeiling::breaks));
        cuts.retain(|cut| *cut > HAIR && *cut <= out);
        cuts.sort_by(f64::total_cmp);
        cuts.dedup_by(|next, kept| *next - *kept < HAIR);
        cuts
    }

    fn piece(&self, from: f64, to: f64) -> DepthLimits {
        let middle = f64::midpoint(from, to);
        let plate = self.plate.as_ref().and_then(|plate| plate.at(middle));
        let mut piece = DepthLimits {
            from: Millimetres(from),
            to: Millimetres(to),
            zone: Zone::at(self.terms.entry, self.terms.exit, middle),
            floor: None,
            ceiling: None,
            gap: None,
            plate,
        };
        for contact in self.contacts.iter().filter(|contact| (contact.from..contact.to).contains(&middle)) {
            piece.bear(self.laminate, &self.terms, contact.layer);
        }
        let unstated = self.terms.exit.is_some_and(|exit| exit.feed.is_none());
        match piece.plate.as_ref().map(|step| step.ceiling.clone()) {
            // The plate model speaks for every layer between the tip and the exit face.
            Some(ceiling) => {
                piece.gap = None;
                piece.lower(ceiling);
            }
            None if unstated && piece.zone == Zone::Exit => {
                piece.gap = Some(Gap {
                    why: "the exit is unsupported and no exit feed is given".to_owned(),
                    key: Some(format!("laminate.{}.exit", self.laminate.name)),
                });
            }
            None => {}
        }
        piece
    }
}

impl DepthLimits {
    /// Adds what one layer in contact asks for.
    fn bear(&mut self, laminate: &Laminate, terms: &Terms<'_>, number: usize) {
        let Some(layer) = laminate.layers.get(number).filter(|layer| !layer.material.class.is_core()) else { return };
        let window = terms.window(layer, self.zone, None);
        if window.ceiling().is_none() && self.gap.is_none() {
            self.gap = Some(Gap {
                why: format!("no ceiling of feed is given for `{}`", layer.name),
                key: Some(format!("laminate.{}.rev_ceiling", laminate.name)),
            });
        }
        if let Some(ceiling) = window.ceiling() {
            self.lower(ceiling.clone());
        }
        if let Some(floor) = window.floor()
            && self.floor.as_ref().is_none_or(|own| floor.value > own.value)
        {
            self.floor = Some(floor.clone());
        }
    }

    fn lower(&mut self, ceiling: Limit<MmPerRev>) {
        if self.ceiling.as_ref().is_none_or(|own| ceiling.value < own.value) {
            self.ceiling = Some(ceiling);
        }
    }

    /// Whether the limits are those of `other`.
    fn alike(&self, other: &Self) -> bool {
        Self { from: other.from, to: other.to, ..self.clone() } == *other
    }
}
