//! Parts of a hole with feed limits of their own, as depths of the tool tip.

use crate::job::{ExitZone, Extent, Laminate, Layer, Limit, ToolKind};
use crate::units::{Millimetres, MmPerRev};

/// Part of a hole with feed limits of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zone {
    /// Near the entry face.
    Entry,
    /// Between.
    Body,
    /// From where slow feed must begin to full diameter out.
    Exit,
}

impl Zone {
    /// The zone at a tip depth; where entry and exit overlap, the exit counts.
    pub(super) fn at(entry: Option<&FeedZone>, exit: Option<&FeedZone>, depth: f64) -> Self {
        let holds = |zone: Option<&FeedZone>| zone.is_some_and(|zone| zone.holds(depth));
        match (holds(exit), holds(entry)) {
            (true, _) => Self::Exit,
            (_, true) => Self::Entry,
            _ => Self::Body,
        }
    }
}

/// Where a feed limit near a face holds.
#[derive(Clone, Debug, PartialEq)]
pub struct FeedZone {
    /// Tip depth it begins at.
    pub from: Millimetres,
    /// Tip depth it ends at.
    pub to: Millimetres,
    /// How far it reaches from the face.
    pub extent: Millimetres,
    /// Most feed in it, where the laminate states one.
    pub feed: Option<Limit<MmPerRev>>,
}

impl FeedZone {
    /// From the entry face until the full diameter has passed the extent, for tools that cut the entry plies open.
    pub(super) fn entry(laminate: &Laminate, kind: &ToolKind, point: Millimetres) -> Option<Self> {
        let entry = laminate.entry.as_ref().filter(|_| kind.drills())?;
        let extent = length(entry, laminate.layers.iter());
        Some(Self { from: Millimetres(0.0), to: extent + point, extent, feed: Some(entry.feed.clone()) })
    }

    /// From the extent above the exit face of the thinnest part to full diameter out of the thickest. Without a stated
    /// exit limit it is one ply, the reach of the plate model. `None` where nothing can be pushed out.
    pub(super) fn exit(laminate: &Laminate, kind: &ToolKind, point: Millimetres) -> Option<Self> {
        let last = laminate.layers.last().filter(|_| laminate.exit_at_risk() && kind.drills())?;
        let (thin, thick) = laminate.span_of(laminate.layers.len());
        let extent = laminate.exit.as_ref().map_or(last.ply, |exit| length(exit, laminate.layers.iter().rev()));
        let feed = laminate.exit.as_ref().map(|exit| exit.feed.clone());
        Some(Self { from: Millimetres((thin - extent).0.max(0.0)), to: thick + point, extent, feed })
    }

    pub(super) fn holds(&self, depth: f64) -> bool {
        (self.from.0..self.to.0).contains(&depth)
    }
}

/// Reach of a zone, walking `layers` inwards from its face.
fn length<'a>(zone: &ExitZone, layers: impl Iterator<Item = &'a Layer>) -> Millimetres {
    let mut plies = match zone.extent {
        Extent::Length(length) => return length,
        Extent::Plies(plies) => plies,
    };
    let mut reach = 0.0;
    for layer in layers {
        let taken = plies.min(layer.plies);
        reach += layer.ply.0 * f64::from(taken);
        plies -= taken;
    }
    Millimetres(reach)
}
