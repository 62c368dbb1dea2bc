//! Follows feed moves through material and makes cuts of them, from entering it to leaving it.

mod draft;
mod feed_move;

pub(super) use feed_move::{FeedMove, Line};

use super::{Cut, CutEntry, Path};
use draft::{Draft, Piece};

/// What a step means to a cut.
#[derive(Clone, Copy, Debug)]
pub(super) enum Event {
    /// A feed move at least partly below the entry face.
    Feed(FeedMove),
    /// The tool leaves: a rapid, a move in air, one from an unknown place.
    Leave,
}

/// Slopes under this count as level.
const LEVEL: f64 = 1e-3;

/// Makes cuts of events.
#[derive(Default)]
pub(super) struct Track {
    /// Height of the entry face.
    pub entry: f64,
    /// Finished cuts nobody has taken yet, oldest first.
    pub finished: Vec<Cut>,
    draft: Option<Draft>,
}

impl Track {
    /// A track below that entry face.
    pub fn new(entry: f64) -> Self {
        Self { entry, ..Self::default() }
    }

    /// Takes the next event.
    pub fn take(&mut self, event: &Event) {
        match event {
            Event::Leave => self.leave(),
            Event::Feed(feed_move) => self.feed(feed_move),
        }
    }

    /// The tool has left material.
    pub fn leave(&mut self) {
        self.finished.extend(self.draft.take().and_then(Draft::finish));
    }

    fn feed(&mut self, feed_move: &FeedMove) {
        let Some((share, piece)) = self.below(feed_move) else { return };
        if !piece.length.is_finite() || (feed_move.line == Line::Axial && share >= 1.0) {
            return;
        }
        let draft = self.draft.get_or_insert_with(|| Draft::new(feed_move, entry_of(feed_move, &piece)));
        draft.turn_to(feed_move);
        draft.add(feed_move, &piece);
    }

    /// The part of a move below the entry face as one piece, and the share of the way it begins after; `None` when it
    /// only rises along the axis or stays above.
    fn below(&self, feed_move: &FeedMove) -> Option<(f64, Piece)> {
        let ([_, _, from], [_, _, to]) = (feed_move.from, feed_move.to);
        let (drop, sideways) = (feed_move.drop(), feed_move.sideways());
        let axial = feed_move.line == Line::Axial;
        if from.min(to) >= self.entry || (axial && drop <= 0.0) {
            return None;
        }
        let crossing = |share: f64| if drop == 0.0 { share } else { ((from - self.entry) / drop).clamp(0.0, 1.0) };
        let (begin, end) = (if drop > 0.0 { crossing(0.0) } else { 0.0 }, if drop < 0.0 { crossing(1.0) } else { 1.0 });
        let length = if axial { drop } else { sideways } * (end - begin);
        let height = |share: f64| from - drop * share;
        let place = feed_move.place(end);
        let piece = Piece {
            path: path_of(feed_move, true),
            length,
            z: (height(begin), height(end)),
            slope: if sideways > 0.0 { drop / sideways } else { f64::INFINITY },
            engagement: None,
            top: self.entry,
            side: None,
            edge: None,
            zone: None,
            at: place.at,
        };
        Some((begin, piece))
    }
}

/// How a tool that begins to cut with this piece came into material.
fn entry_of(feed_move: &FeedMove, piece: &Piece) -> CutEntry {
    match feed_move.line {
        Line::Axial => CutEntry::Plunge,
        _ if piece.slope > LEVEL => CutEntry::Ramp(libm::atan(piece.slope).to_degrees()),
        Line::Straight => CutEntry::Straight,
        Line::Round { .. } => CutEntry::Arc,
    }
}

fn path_of(feed_move: &FeedMove, inside: bool) -> Path {
    match feed_move.line {
        Line::Axial => Path::Plunge,
        Line::Straight => Path::Line,
        Line::Round { arc, .. } => Path::Arc { radius: arc.radius, inside },
    }
}
