//! Where the tool is while a cycle is written out, and the few movements that cycles are made of.

use super::{CycleAction, CycleMove};
use crate::motion::{CycleCall, CyclePart, SpindleSense};

/// The moves of one call as they are written out.
pub(super) struct Path<'a, E: FnMut(CycleMove)> {
    /// The call.
    pub call: &'a CycleCall,
    at: [f64; 3],
    first: usize,
    second: usize,
    normal: usize,
    emit: &'a mut E,
}

impl<'a, E: FnMut(CycleMove)> Path<'a, E> {
    /// Starts where the call starts.
    pub fn new(call: &'a CycleCall, emit: &'a mut E) -> Self {
        let (first, second, normal) = call.plane.axes();
        Self { call, at: call.from.xyz, first, second, normal, emit }
    }

    /// To the height of the positioning rapid when below it, over the hole, and down to R when above it.
    pub fn preliminary(&mut self) {
        let height = component(self.call.over, self.normal);
        if component(self.at, self.normal) < height {
            self.rapid(height, CyclePart::Position);
        }
        self.send(CycleAction::Rapid, self.call.over, CyclePart::Position);
        if component(self.at, self.normal) != self.call.r {
            self.rapid(self.call.r, CyclePart::Approach);
        }
    }

    /// Along the normal to `height` at rapid rate.
    pub fn rapid(&mut self, height: f64, part: CyclePart) {
        self.send(CycleAction::Rapid, with(self.at, self.normal, height), part);
    }

    /// Along the normal to `height` at feed.
    pub fn feed(&mut self, height: f64, part: CyclePart) {
        self.send(CycleAction::Line, with(self.at, self.normal, height), part);
    }

    /// Sideways at rapid rate to `offset` (first and second in-plane axis) from the middle of the hole.
    pub fn shift(&mut self, offset: (f64, f64)) {
        let first = component(self.call.over, self.first) + offset.0;
        let second = component(self.call.over, self.second) + offset.1;
        let to = with(with(self.at, self.first, first), self.second, second);
        self.send(CycleAction::Rapid, to, CyclePart::Shift);
    }

    /// Stands still for the call's dwell, if it has one.
    pub fn dwell(&mut self) {
        if let Some(dwell) = self.call.dwell {
            self.send(CycleAction::Dwell(dwell.ok()), self.at, CyclePart::Dwell);
        }
    }

    /// Stops, starts or reverses the spindle.
    pub fn spindle(&mut self, sense: SpindleSense) {
        self.send(CycleAction::Spindle(sense), self.at, CyclePart::Spindle);
    }

    /// Waits for the operator, who brings the tool to `height` by hand.
    pub fn hand_over(&mut self, height: f64) {
        self.send(CycleAction::Stop, with(self.at, self.normal, height), CyclePart::Retract);
    }

    /// I, J or K for the first in-plane, second in-plane and normal axis.
    pub fn offsets(&self) -> (Option<f64>, Option<f64>, Option<f64>) {
        let word = |axis: usize| self.call.ijk.get(axis).copied().flatten();
        (word(self.first), word(self.second), word(self.normal))
    }

    fn send(&mut self, action: CycleAction, to: [f64; 3], part: CyclePart) {
        self.at = to;
        (self.emit)(CycleMove { action, to, part });
    }
}

fn component(point: [f64; 3], axis: usize) -> f64 {
    point.get(axis).copied().unwrap_or(0.0)
}

fn with(mut point: [f64; 3], axis: usize, value: f64) -> [f64; 3] {
    if let Some(slot) = point.get_mut(axis) {
        *slot = value;
    }
    point
}
