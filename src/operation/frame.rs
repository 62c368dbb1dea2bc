//! Keeps places comparable while G52, G92 and the like move the origin under the program.

use crate::motion::Pose;
use std::collections::BTreeMap;

/// A jump of the coordinates without a move, larger than this, is a new origin, mm.
const JUMP: f64 = 1e-4;

/// How far the origin has moved since the first position under each work offset.
#[derive(Default)]
pub(super) struct Frame {
    /// Work offset in force.
    pub number: u8,
    drift: [f64; 2],
    tip: Option<[f64; 2]>,
    others: BTreeMap<u8, [f64; 2]>,
}

impl Frame {
    /// Looks where the next move starts; true when the origin has moved.
    pub fn depart(&mut self, from: &Pose, number: u8) -> bool {
        if number != self.number {
            self.others.insert(self.number, self.drift);
            self.drift = self.others.get(&number).copied().unwrap_or_default();
            self.number = number;
            return true;
        }
        let (Some([tip_x, tip_y]), Some([x, y])) = (self.tip, sideways(from)) else { return false };
        let moved = (tip_x - x).abs() > JUMP || (tip_y - y).abs() > JUMP;
        if moved {
            let [drift_x, drift_y] = self.drift;
            self.drift = [drift_x + tip_x - x, drift_y + tip_y - y];
        }
        moved
    }

    /// Notes where a move ends.
    pub fn arrive(&mut self, to: &Pose) {
        self.tip = sideways(to);
    }

    /// Whether the last move ended here.
    pub fn is_at(&self, [x, y, _]: [f64; 3]) -> bool {
        self.tip == Some([x, y])
    }

    /// Notes a move that ends at a known place.
    pub fn come_to(&mut self, at: [f64; 2]) {
        self.tip = Some(at);
    }

    /// A place in program coordinates, counted from the first origin.
    pub fn place(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [drift_x, drift_y] = self.drift;
        [x + drift_x, y + drift_y]
    }
}

/// X and Y, when both are known.
fn sideways(pose: &Pose) -> Option<[f64; 2]> {
    let [x, y, _] = pose.xyz;
    (pose.known.has(0) && pose.known.has(1)).then_some([x, y])
}
