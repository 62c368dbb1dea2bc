//! How much of a tool's leading half stands in material, by intervals of its circle.

use super::Stock;
use super::front::Front;
use super::removed::SAME_HEIGHT;
use super::swept::Swept;
use super::view::View;
use crate::operation::Side;
use core::f64::consts::{PI, TAU};

/// What a tool meets at one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::operation) struct Engaged {
    /// Where the engaged part begins, degrees from the heading, left positive.
    pub start: f64,
    /// Angle in material, degrees: 180 in a full slot.
    pub sweep: f64,
    /// Side on which material stands beside the path; `None` for both or neither.
    pub side: Option<Side>,
    /// Height of the material's top where the tool meets it.
    pub top: f64,
}

impl Stock {
    /// What a tool of `radius` with its tip at `z`, or at the bottom face when it stands out below, meets; `None` for
    /// nothing.
    pub fn engagement(&mut self, centre: [f64; 2], heading: [f64; 2], radius: f64, z: f64) -> Option<Engaged> {
        let usable = centre.iter().chain(&heading).all(|value| value.is_finite()) && radius > 0.0 && !z.is_nan();
        if !usable || z >= self.top {
            return None;
        }
        let view = View::new(centre, heading, radius);
        let bounds = view.bounds();
        let block = self.cells.block(bounds);
        let mut front = Front::of(self.removed.ahead(&self.cells, &block, z, &view), radius)?;
        if !self.cells.contain(bounds) || !block.rows().all(|row| self.outline.surrounds(row)) {
            self.outline.carve((&self.cells, &block), &view, &mut front);
        }
        let mut higher = std::mem::take(&mut self.higher);
        higher.clear();
        if let Some(shape) = self.chain.shape() {
            if shape.z() > z + SAME_HEIGHT {
                higher.push(shape);
            } else {
                shape.carve(&view, &mut front);
            }
        }
        if !front.is_empty() {
            self.removed.carve((&self.cells, &block), z, &view, &mut front, &mut higher);
        }
        let engaged = (!front.is_empty()).then(|| Engaged {
            start: front.spans().first().map_or(0.0, |(low, _)| libm::asin(*low).to_degrees()),
            sweep: front.sweep(),
            side: front.side(),
            top: top_at(view.point(front.middle()), &higher, self.top),
        });
        self.higher = higher;
        engaged
    }

    /// Whether a tool going straight down to `z` meets material.
    pub fn meets_below(&mut self, centre: [f64; 2], radius: f64, z: f64) -> Option<Engaged> {
        let ring = self.engagement(centre, [1.0, 0.0], radius, z);
        let ring = ring.or_else(|| self.engagement(centre, [-1.0, 0.0], radius, z));
        let inner = |(x, y): (f64, f64)| [centre[0] + radius * x, centre[1] + radius * y];
        let places = [(0.0, 0.0), (0.5, 0.0), (-0.5, 0.0), (0.0, 0.5), (0.0, -0.5)].map(inner);
        let found = places.into_iter().any(|place| self.is_solid(place, z));
        ring.or_else(|| found.then_some(Engaged { start: -90.0, sweep: 180.0, side: None, top: self.top }))
            .map(|engaged| Engaged { sweep: 180.0, ..engaged })
    }

    /// Whether material stands at a place at `z`.
    fn is_solid(&self, place: [f64; 2], z: f64) -> bool {
        let Some(cell) = self.cells.at(place) else { return false };
        self.outline.holds(&self.cells, place)
            && !self.removed.is_gone(cell, z)
            && !self.removed.has_taken(cell, place, z)
    }

    /// The tool has gone straight, with its tip no higher than `z`.
    pub fn sweep_line(&mut self, from: [f64; 2], to: [f64; 2], radius: f64, z: f64) {
        if let Some(shape) = self.chain.draw(from, to, radius, z) {
            self.removed.take(&self.cells, shape);
        }
    }

    /// The tool has gone round part of an arc about `centre`, `turn` radians counterclockwise, with its tip no higher
    /// than `z`.
    pub fn sweep_arc(
        &mut self,
        (from, to): ([f64; 2], [f64; 2]),
        (centre, turn): ([f64; 2], f64),
        radius: f64,
        z: f64,
    ) {
        // Once round, all is gone that ever will be.
        let (turn, to) = if turn.abs() > TAU { (TAU.copysign(turn), from) } else { (turn, to) };
        let out = [from[0] - centre[0], from[1] - centre[1]];
        let parts = libm::ceil(turn.abs() / PI).max(1.0);
        let (turn, mut place, mut part) = (turn / parts, from, 1.0);
        while part < parts {
            let (sin, cos) = (libm::sin(turn * part), libm::cos(turn * part));
            let next = [centre[0] + out[0] * cos - out[1] * sin, centre[1] + out[0] * sin + out[1] * cos];
            self.bend((place, next), (centre, turn), radius, z);
            (place, part) = (next, part + 1.0);
        }
        self.bend((place, to), (centre, turn), radius, z);
    }

    fn bend(&mut self, ends: ([f64; 2], [f64; 2]), arc: ([f64; 2], f64), radius: f64, z: f64) {
        if let Some(shape) = self.chain.bend(ends, arc, radius, z) {
            self.removed.take(&self.cells, shape);
        }
    }

    /// The tool has left material.
    pub fn lift(&mut self) {
        if let Some(shape) = self.chain.end() {
            self.removed.take(&self.cells, shape);
        }
    }
}

/// Height of the material's top at a place, below whatever was taken there before.
fn top_at(place: [f64; 2], higher: &[Swept], top: f64) -> f64 {
    let taken = higher.iter().filter(|shape| shape.way().distance(place) <= 0.0);
    taken.map(Swept::z).fold(top, f64::min)
}
