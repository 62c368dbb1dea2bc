//! Walks along a move through the stock, and tells which parts of it cut how much.

use super::draft::Piece;
use super::feed_move::{FeedMove, Line};
use super::{Track, path_of, piece};
use crate::operation::stock::{Engaged, Stock};

/// Places looked at along one move at most.
const MOST_PLACES: f64 = 512.0;
/// Turn of an arc between two places looked at, radians.
const TURN: f64 = 0.25;
/// How near the place where a tool meets or leaves material is found, in tool radii.
const NEAR: f64 = 1.0 / 32.0;
/// Halvings at most until it is found.
const MOST_HALVINGS: u32 = 24;

/// Part of a move alike in engagement, waiting to learn where it ends.
#[derive(Clone, Copy)]
struct Part {
    /// Share of the way it begins after.
    begin: f64,
    /// Share at which it was looked at.
    looked: f64,
    found: Found,
}

/// What the tool meets at a place and the zone that lies in.
type Found = (Option<Engaged>, Option<usize>);

/// A move in the stock with the radius of its tool.
struct Walk<'w> {
    stock: &'w mut Stock,
    feed_move: &'w FeedMove,
    radius: f64,
}

impl Track {
    /// Goes along a move from share `begin` to share `end` of its way.
    pub(super) fn walk(&mut self, stock: &mut Stock, feed_move: &FeedMove, radius: f64, (begin, end): (f64, f64)) {
        let mut walk = Walk { stock, feed_move, radius };
        if feed_move.line == Line::Axial {
            return self.plunge(&mut walk, (begin, end));
        }
        let places = places(feed_move, radius, end - begin);
        let step = (end - begin) / places;
        let (mut last, mut number): (Option<Part>, f64) = (None, 0.0);
        while number < places {
            let (from, looked) = (begin + number * step, begin + (number + 0.5) * step);
            let found = self.look(&mut walk, looked);
            // A tool that comes out of the air meets material somewhere within the first part.
            let comes_in = last.is_none() && found.0.is_some() && (self.draft.is_none() || self.gap > 0.0);
            if comes_in {
                last = Some(Part { begin, looked: begin, found: self.look(&mut walk, begin) });
            }
            let mut part = Part { begin: from, looked, found };
            if let Some(before) = last {
                if before.found.0.is_some() != found.0.is_some() {
                    part.begin = self.border(&mut walk, &before, looked);
                }
                self.pass(&mut walk, &before, part.begin);
            }
            last = Some(part);
            number += 1.0;
        }
        if let Some(part) = last {
            self.pass(&mut walk, &part, end);
        }
    }

    fn look(&self, walk: &mut Walk<'_>, share: f64) -> Found {
        let place = walk.feed_move.place(share);
        let centre = walk.feed_move.shifted(place.at);
        let zone = self.wanted.zone_at(centre);
        let z = place.z.max(walk.stock.floor(zone));
        (walk.stock.engagement(centre, place.heading, walk.radius, z), zone)
    }

    /// Share of the way at which the tool meets or leaves material, between that of a part and another.
    fn border(&self, walk: &mut Walk<'_>, part: &Part, other: f64) -> f64 {
        let (mut low, mut high) = (part.looked, other);
        let near = NEAR * walk.radius / walk.feed_move.sideways.max(walk.radius * NEAR);
        for _ in 0..MOST_HALVINGS {
            if high - low <= near {
                break;
            }
            let middle = (low + high) / 2.0;
            let (engaged, _) = self.look(walk, middle);
            if engaged.is_some() == part.found.0.is_some() { low = middle } else { high = middle }
        }
        high.max(part.begin)
    }

    /// The tool has gone along a part up to that share.
    fn pass(&mut self, walk: &mut Walk<'_>, part: &Part, end: f64) {
        let (feed_move, radius) = (walk.feed_move, walk.radius);
        if end <= part.begin && feed_move.sideways > 0.0 {
            return;
        }
        let (engaged, zone) = part.found;
        let place = feed_move.place(part.looked);
        let centre = feed_move.shifted(place.at);
        let bare = piece(feed_move, (part.begin, end), self.entry);
        let Some(engaged) = engaged else {
            self.in_the_open = walk.stock.held(centre);
            return self.pass_air(walk, bare.length);
        };
        let (edge, wall) = self.wanted.edge_near(centre, place.heading, radius).unzip();
        let side = wall.flatten().or(engaged.side);
        let path = path_of(feed_move, side);
        let (top, at, engagement) = (engaged.top, place.at, Some(engaged.sweep));
        self.add(feed_move, &Piece { path, engagement, top, side, edge, zone, at, ..bare });
        let z = bare.z.0.max(bare.z.1).max(walk.stock.floor(zone));
        let (from, to) = (walk.ground(part.begin), walk.ground(end));
        match feed_move.line {
            Line::Round { arc, counterclockwise } => {
                let turn = arc.sweep * (end - part.begin);
                let turn = if counterclockwise { turn } else { -turn };
                let [x, y, _] = arc.centre;
                walk.stock.sweep_arc((from, to), (feed_move.shifted([x, y]), turn), radius, z);
            }
            Line::Straight | Line::Axial => walk.stock.sweep_line(from, to, radius, z),
        }
    }

    /// The tool has gone so far without cutting: more than its diameter, and the cut has ended.
    fn pass_air(&mut self, walk: &mut Walk<'_>, length: f64) {
        self.gap += length;
        if self.gap > 2.0 * walk.radius && self.draft.is_some() {
            self.end_cut();
            walk.stock.lift();
        }
    }

    fn plunge(&mut self, walk: &mut Walk<'_>, (begin, end): (f64, f64)) {
        let (feed_move, radius) = (walk.feed_move, walk.radius);
        let place = feed_move.place(end);
        let centre = feed_move.shifted(place.at);
        let zone = self.wanted.zone_at(centre);
        let z = place.z.max(walk.stock.floor(zone));
        walk.stock.lift();
        let Some(engaged) = walk.stock.meets_below(centre, radius, z) else {
            self.in_the_open = walk.stock.held(centre);
            return;
        };
        let bare = piece(feed_move, (begin, end), engaged.top);
        self.add(feed_move, &Piece { engagement: Some(engaged.sweep), zone, ..bare });
        walk.stock.drill(centre, radius, z);
    }
}

impl Walk<'_> {
    /// Where the tool stands after that share of the way, counted from the first origin.
    fn ground(&self, share: f64) -> [f64; 2] {
        self.feed_move.shifted(self.feed_move.at(share))
    }
}

/// How many places are looked at along a share of a move.
fn places(feed_move: &FeedMove, radius: f64, share: f64) -> f64 {
    let turn = match feed_move.line {
        Line::Round { arc, .. } => arc.sweep,
        Line::Straight | Line::Axial => 0.0,
    };
    let way = feed_move.sideways / radius;
    libm::ceil(way.max(turn / TURN) * share).clamp(1.0, MOST_PLACES)
}
