//! A cut while it is being made: pieces of moves are merged into stretches, and their lengths vote on what it is.

use super::feed_move::FeedMove;
use super::reached::Speed;
use crate::job::CutDirection;
use crate::motion::{Cause, SpindleSense};
use crate::operation::{Cut, CutEntry, CutStyle, Path, Side, Stretch};

/// Engagements within this count as alike, degrees; house value.
const SAME_ENGAGEMENT: f64 = 2.0;
/// Slopes (drop over way) within this count as alike; house value.
const SAME_SLOPE: f64 = 0.005;
/// Radii and heights within this count as alike, mm; house value.
const SAME_LENGTH: f64 = 0.01;
/// Engagement at nine tenths of the diameter, degrees: from there on a cut is a slot. House value.
const SLOT: f64 = 143.13;
/// Engagement at a tenth of the diameter, degrees: up to there a cut is light. House value.
const LIGHT: f64 = 36.87;
/// Moves under one exact stop whose lengths differ by more than this factor are no longer alike: each reaches a speed by
/// its own length. House value.
const SAME_WAY: f64 = 1.5;
/// Beyond so many stretches moves are merged whatever their engagement and slope, so that a cut stays small.
const MANY: usize = 20_000;

/// A piece of a move in material, all of it alike.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    /// Kind of path.
    pub path: Path,
    /// Length, mm.
    pub length: f64,
    /// Height of the tip at start and end.
    pub z: (f64, f64),
    /// Drop over way sideways; without bound for a plunge.
    pub slope: f64,
    /// Engagement angle, degrees.
    pub engagement: Option<f64>,
    /// Height of the material's top.
    pub top: f64,
    /// Side of the finished material.
    pub side: Option<Side>,
    /// Index of the job's edge.
    pub edge: Option<usize>,
    /// Index of the thickness zone.
    pub zone: Option<usize>,
    /// Where, X and Y.
    pub at: [f64; 2],
}

/// A cut in the making.
pub(super) struct Draft {
    cut: Cut,
    /// Steepest slope of the last stretch.
    slope: f64,
    /// Way of the first move of the last stretch, mm.
    way: f64,
    /// Whether the next piece is the first of its move.
    fresh: bool,
    /// Lengths by style: slot, profile, light.
    styles: [f64; 3],
    /// Lengths by side: left, right.
    sides: [f64; 2],
    /// Lengths by direction: climb, conventional.
    directions: [f64; 2],
    /// Lengths by edge.
    edges: Vec<(usize, f64)>,
    /// Length without ramps.
    level: f64,
}

impl Draft {
    /// A cut that `first` begins; `stretches` is empty and lends its room.
    pub fn new(first: &FeedMove, entry: CutEntry, stretches: Vec<Stretch>) -> Self {
        let cut = Cut {
            tool: first.tool,
            first: first.block,
            last: first.block,
            entry,
            lowest: f64::INFINITY,
            length: 0.0,
            style: None,
            side: None,
            direction: None,
            edge: None,
            stretches,
        };
        Self {
            cut,
            slope: 0.0,
            way: 0.0,
            fresh: true,
            styles: [0.0; 3],
            sides: [0.0; 2],
            directions: [0.0; 2],
            edges: Vec::new(),
            level: 0.0,
        }
    }

    /// The next move begins.
    pub fn turn(&mut self) {
        self.fresh = true;
    }

    /// Takes a piece of the present move; the index of the stretch it belongs to.
    pub fn add(&mut self, feed_move: &FeedMove, piece: &Piece) -> usize {
        self.cut.last = feed_move.block;
        self.cut.lowest = self.cut.lowest.min(piece.z.0).min(piece.z.1);
        if piece.path != Path::Plunge {
            self.cut.length += piece.length;
            self.vote(feed_move.sense, piece);
        }
        let many = self.cut.stretches.len() >= MANY;
        let (slope, fresh) = (self.slope, std::mem::take(&mut self.fresh));
        let same_way = many || feed_move.exact.is_none() || self.is_as_long(feed_move);
        let goes_on = |last: &&mut Stretch| same_way && alike(last, slope, feed_move, piece, many);
        match self.cut.stretches.last_mut().filter(goes_on) {
            Some(last) => {
                extend(last, feed_move, piece);
                last.moves += u32::from(fresh);
                self.slope = self.slope.max(piece.slope);
            }
            None => {
                self.settle_slope();
                self.slope = piece.slope;
                self.way = feed_move.sideways;
                self.cut.stretches.push(stretch(feed_move, piece));
            }
        }
        self.cut.stretches.len() - 1
    }

    /// A move of a stretch has come out of the speed plan.
    pub fn reach(&mut self, stretch: usize, speed: Speed) {
        reach(&mut self.cut, stretch, speed);
    }

    fn is_as_long(&self, feed_move: &FeedMove) -> bool {
        let (shorter, longer) = (self.way.min(feed_move.sideways), self.way.max(feed_move.sideways));
        longer <= shorter * SAME_WAY
    }

    fn vote(&mut self, sense: SpindleSense, piece: &Piece) {
        let length = piece.length;
        if piece.slope.abs() <= SAME_SLOPE {
            self.level += length;
        }
        if let Some(engagement) = piece.engagement {
            let style = usize::from(engagement < SLOT) + usize::from(engagement <= LIGHT);
            add(&mut self.styles, style, length);
        }
        if let Some(side) = piece.side {
            add(&mut self.sides, usize::from(side == Side::Right), length);
            if let Some(direction) = direction(side, sense) {
                add(&mut self.directions, usize::from(direction == CutDirection::Conventional), length);
            }
        }
        if let Some(edge) = piece.edge {
            match self.edges.iter_mut().find(|(known, _)| *known == edge) {
                Some((_, sum)) => *sum += length,
                None => self.edges.push((edge, length)),
            }
        }
    }

    /// Writes the steepest descent into the last stretch.
    fn settle_slope(&mut self) {
        if self.slope > 0.0
            && let Some(last) = self.cut.stretches.last_mut()
        {
            last.descent = libm::atan(self.slope).to_degrees();
        }
    }

    /// The finished cut.
    pub fn finish(mut self) -> Cut {
        self.settle_slope();
        let styles = [CutStyle::Slot, CutStyle::Profile, CutStyle::Light];
        let directions = [CutDirection::Climb, CutDirection::Conventional];
        self.cut.style = winner(&self.styles).and_then(|index| styles.get(index).copied());
        self.cut.side = winner(&self.sides).and_then(|index| [Side::Left, Side::Right].get(index).copied());
        self.cut.direction = winner(&self.directions).and_then(|index| directions.get(index).copied());
        let lengths: Vec<f64> = self.edges.iter().map(|(_, length)| *length).collect();
        // An edge touched only in passing is not the cut's own; the way down to it does not count.
        let whole = if self.level > 0.0 { self.level } else { self.cut.length };
        let edge = winner(&lengths).and_then(|index| self.edges.get(index));
        self.cut.edge = edge.filter(|(_, length)| 2.0 * length >= whole).map(|(edge, _)| *edge);
        self.cut
    }
}

/// A move of a stretch has come out of the speed plan.
pub(super) fn reach(cut: &mut Cut, stretch: usize, speed: Speed) {
    let Some(stretch) = cut.stretches.get_mut(stretch) else { return };
    let Speed { peak, cause, at } = speed;
    let (least, most, held_by) = stretch.reached.unwrap_or((f64::INFINITY, 0.0, cause));
    let slowest = peak < least;
    if slowest && cause != Cause::Commanded {
        stretch.at = at;
    }
    stretch.reached = Some((least.min(peak), most.max(peak), if slowest { cause } else { held_by }));
}

/// Climb or conventional: a spindle that turns clockwise seen from above climbs with the material on its right.
pub(super) fn direction(side: Side, sense: SpindleSense) -> Option<CutDirection> {
    match (side, sense) {
        (_, SpindleSense::Stopped) => None,
        (Side::Right, SpindleSense::Clockwise) | (Side::Left, SpindleSense::Counterclockwise) => {
            Some(CutDirection::Climb)
        }
        _ => Some(CutDirection::Conventional),
    }
}

fn stretch(feed_move: &FeedMove, piece: &Piece) -> Stretch {
    Stretch {
        first: feed_move.block,
        last: feed_move.block,
        moves: 1,
        path: piece.path,
        length: piece.length,
        z: piece.z,
        descent: 0.0,
        feed: feed_move.feed,
        speed: feed_move.speed,
        sense: feed_move.sense,
        engagement: piece.engagement.map(|angle| (angle, angle)),
        top: piece.top,
        reached: None,
        zone: piece.zone,
        feed_at: feed_move.feed_at,
        exact: feed_move.exact,
        at: piece.at,
    }
}

fn extend(last: &mut Stretch, feed_move: &FeedMove, piece: &Piece) {
    last.last = feed_move.block;
    last.length += piece.length;
    last.z.1 = piece.z.1;
    last.top = last.top.max(piece.top);
    if let (Some((least, most)), Some(angle)) = (last.engagement.as_mut(), piece.engagement) {
        if angle > *most {
            last.at = piece.at;
        }
        *least = least.min(angle);
        *most = most.max(angle);
    }
}

/// Whether a piece goes on as the last stretch does.
fn alike(last: &Stretch, slope: f64, feed_move: &FeedMove, piece: &Piece, many: bool) -> bool {
    let same_path = || match (last.path, piece.path) {
        (Path::Arc { radius, inside }, Path::Arc { radius: other, inside: other_inside }) => {
            inside == other_inside && (radius - other).abs() <= SAME_LENGTH
        }
        (one, other) => one == other,
    };
    let same_words = || {
        (last.feed, last.speed, last.feed_at) == (feed_move.feed, feed_move.speed, feed_move.feed_at)
            && (last.sense, last.exact, last.zone) == (feed_move.sense, feed_move.exact, piece.zone)
    };
    let same_engagement = || match (last.engagement, piece.engagement) {
        (Some((least, most)), Some(angle)) => most.max(angle) - least.min(angle) <= SAME_ENGAGEMENT,
        (None, None) => true,
        _ => false,
    };
    (many || same_slope(last, slope, piece) && same_engagement()) && same_words() && same_path()
}

/// Whether a piece slopes as the last stretch does; where both are level, they must also lie equally high.
fn same_slope(last: &Stretch, slope: f64, piece: &Piece) -> bool {
    let level = slope.abs().max(piece.slope.abs()) <= SAME_SLOPE;
    let as_high = |height: f64, other: f64| (height - other).abs() <= SAME_LENGTH;
    let steep = slope == piece.slope || (slope - piece.slope).abs() <= SAME_SLOPE;
    steep && (!level || as_high(last.z.0, piece.z.1) && as_high(last.top, piece.top))
}

fn add<const N: usize>(sums: &mut [f64; N], index: usize, length: f64) {
    if let Some(sum) = sums.get_mut(index) {
        *sum += length;
    }
}

/// Index of the largest sum, the first of equals; `None` when all are zero.
fn winner(sums: &[f64]) -> Option<usize> {
    let mut best = None;
    let mut most = 0.0;
    for (index, sum) in sums.iter().enumerate() {
        if *sum > most {
            (best, most) = (Some(index), *sum);
        }
    }
    best
}
