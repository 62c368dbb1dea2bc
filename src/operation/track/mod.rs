//! Follows feed moves through material and makes cuts of them, from entering it to leaving it.

mod draft;
mod feed_move;
mod reached;
#[cfg(test)]
mod tests;
mod walk;

pub(super) use feed_move::{FeedMove, Line};

use super::stock::{Stock, Wanted};
use super::{Cut, CutEntry, Path, Side, Stretch};
use crate::job::Job;
use crate::motion::{Planned, Segment};
use draft::{Draft, Piece};
use reached::{Claim, Reached};
use std::collections::VecDeque;

/// Slopes under this count as level; house value.
const LEVEL: f64 = 1e-3;

/// Makes cuts of feed moves.
#[derive(Default)]
pub(super) struct Track {
    /// Height of the entry face.
    pub entry: f64,
    /// Cuts that have ended, oldest first.
    ended: VecDeque<Cut>,
    /// Room for the stretches of a cut to come.
    spare: Vec<Stretch>,
    /// How many cuts have begun.
    begun: u64,
    reached: Reached,
    /// What is left of the raw material, where the job tells of it.
    pub stock: Option<Box<Stock>>,
    /// Work offset the raw material is set in: that of the first cut.
    home: Option<u8>,
    wanted: Wanted,
    draft: Option<Draft>,
    /// Way in air since the tool last met material, mm.
    gap: f64,
    /// Whether the tool stands below the face in a hole or slot already open.
    in_the_open: bool,
}

impl Track {
    /// A track through the job's material.
    pub fn new(job: Option<&Job>) -> Self {
        let Some(job) = job else { return Self::default() };
        let (stock, wanted) = (Stock::of(job).map(Box::new), Wanted::of(job));
        Self { entry: job.head.entry_z.0, stock, wanted, ..Self::default() }
    }

    /// A move has been handed to the speed plan; its number there.
    pub fn push(&mut self) -> u64 {
        self.reached.push()
    }

    /// The next move has come out of the speed plan.
    pub fn settle(&mut self, segment: &Segment, planned: &Planned) {
        self.reached.settle(segment, planned);
    }

    /// Forgets speeds nobody can ask for any more, once no move waits to become a cut.
    pub fn forget(&mut self) {
        self.reached.forget();
    }

    /// Whether a cut has ended or the speed that a stretch waits for is known.
    pub fn has_news(&self) -> bool {
        !self.ended.is_empty() || self.reached.is_due()
    }

    /// Writes speeds into the stretches that wait for them.
    pub fn meet_claims(&mut self) {
        while let Some((claim, speed)) = self.reached.next() {
            let ended = self.begun - u64::from(self.draft.is_some());
            match (&mut self.draft, ended.checked_sub(claim.cut)) {
                (Some(draft), None) => draft.reach(claim.stretch, speed),
                (_, Some(back)) => {
                    let cut = usize::try_from(back).ok().and_then(|back| self.ended.len().checked_sub(back + 1));
                    if let Some(cut) = cut.and_then(|cut| self.ended.get_mut(cut)) {
                        draft::reach(cut, claim.stretch, speed);
                    }
                }
                (None, None) => {}
            }
        }
    }

    /// The oldest cut that has ended and waits for no speed.
    pub fn finished(&mut self) -> Option<Cut> {
        let oldest = self.begun - u64::from(self.draft.is_some()) - self.ended.len() as u64 + 1;
        if self.reached.owes(oldest) { None } else { self.ended.pop_front() }
    }

    /// Takes the stretches of a cut that nobody needs any more, for their room.
    pub fn give_back(&mut self, mut stretches: Vec<Stretch>) {
        stretches.clear();
        if stretches.capacity() > self.spare.capacity() {
            self.spare = stretches;
        }
    }

    /// The tool has left material.
    pub fn leave(&mut self) {
        self.end_cut();
        if let Some(stock) = &mut self.stock {
            stock.lift();
        }
        (self.gap, self.in_the_open) = (0.0, false);
    }

    /// A hole has been made under that work offset, of that diameter down to that height.
    pub fn drill(&mut self, centre: [f64; 2], work_offset: u8, sizes: Option<(f64, f64)>) {
        let at_home = *self.home.get_or_insert(work_offset) == work_offset;
        if let Some((stock, (diameter, z))) = self.stock.as_mut().filter(|_| at_home).zip(sizes) {
            stock.drill(centre, diameter / 2.0, z);
        }
    }

    fn end_cut(&mut self) {
        if self.draft.is_some() {
            self.ended.extend(self.draft.take().map(Draft::finish));
        }
    }

    /// The tool has made a feed move that may cut.
    pub fn feed(&mut self, feed_move: &FeedMove) {
        let Some((begin, end)) = self.below(feed_move) else {
            let [_, _, z] = feed_move.to;
            if z >= self.entry {
                self.leave();
            }
            return;
        };
        if let Some(draft) = &mut self.draft {
            draft.turn();
        }
        let at_home = *self.home.get_or_insert(feed_move.work_offset) == feed_move.work_offset;
        match (self.stock.take(), feed_move.radius.filter(|_| at_home)) {
            (Some(mut stock), Some(radius)) => {
                self.walk(&mut stock, feed_move, radius, (begin, end));
                self.stock = Some(stock);
            }
            (stock, _) => {
                self.stock = stock;
                self.add(feed_move, &piece(feed_move, (begin, end), self.entry));
            }
        }
    }

    /// The shares of the way between which a move runs below the entry face; `None` when it stays above or only rises.
    fn below(&self, feed_move: &FeedMove) -> Option<(f64, f64)> {
        let ([_, _, from], [_, _, to]) = (feed_move.from, feed_move.to);
        let drop = from - to;
        let usable = feed_move.sideways.is_finite() && drop.is_finite();
        if !usable || from.min(to) >= self.entry || (feed_move.line == Line::Axial && drop <= 0.0) {
            return None;
        }
        let crossing = ((from - self.entry) / drop).clamp(0.0, 1.0);
        let begin = if drop > 0.0 { crossing } else { 0.0 };
        let end = if drop < 0.0 { crossing } else { 1.0 };
        Some((begin, end))
    }

    fn add(&mut self, feed_move: &FeedMove, piece: &Piece) {
        let (open, begun, spare) = (self.in_the_open, &mut self.begun, &mut self.spare);
        let draft = self.draft.get_or_insert_with(|| {
            *begun += 1;
            Draft::new(feed_move, entry_of(feed_move, piece, open), std::mem::take(spare))
        });
        let stretch = draft.add(feed_move, piece);
        if let Some(planned) = feed_move.planned {
            self.reached.claim(Claim { planned, cut: *begun, stretch });
        }
        (self.gap, self.in_the_open) = (0.0, false);
    }
}

/// A part of a move as one piece, with nothing known but its geometry.
fn piece(feed_move: &FeedMove, (begin, end): (f64, f64), top: f64) -> Piece {
    let ([_, _, from], [_, _, to]) = (feed_move.from, feed_move.to);
    let (drop, sideways) = (from - to, feed_move.sideways);
    let axial = feed_move.line == Line::Axial;
    Piece {
        path: path_of(feed_move, None),
        length: if axial { drop } else { sideways } * (end - begin),
        z: (from - drop * begin, from - drop * end),
        slope: if sideways > 0.0 { drop / sideways } else { f64::INFINITY },
        engagement: None,
        top,
        side: None,
        edge: None,
        zone: None,
        at: feed_move.at(end),
    }
}

/// How a tool that begins to cut with this piece came into material.
fn entry_of(feed_move: &FeedMove, piece: &Piece, open: bool) -> CutEntry {
    match feed_move.line {
        Line::Axial => CutEntry::Plunge,
        _ if piece.slope > LEVEL => CutEntry::Ramp(libm::atan(piece.slope).to_degrees()),
        _ if open => CutEntry::Open,
        Line::Straight => CutEntry::Straight,
        Line::Round { .. } => CutEntry::Arc,
    }
}

/// Kind of path; with walls on both sides the one outside an arc counts, for it moves faster.
fn path_of(feed_move: &FeedMove, side: Option<Side>) -> Path {
    match feed_move.line {
        Line::Axial => Path::Plunge,
        Line::Straight => Path::Line,
        Line::Round { arc, counterclockwise } => {
            let inside = side.is_none_or(|side| (side == Side::Right) == counterclockwise);
            Path::Arc { radius: arc.radius, inside }
        }
    }
}
