//! Keeps places comparable while G52, G92 and the like move the origin under the program.

use crate::motion::Pose;
use std::collections::BTreeMap;

/// A jump of the coordinates without a move, larger than this, is a new origin, mm.
const JUMP: f64 = 1e-4;

/// How far the origin has moved by G52, and otherwise since the first position under each work offset.
#[derive(Default)]
pub(super) struct Frame {
    /// Work offset in force.
    pub number: u8,
    drift: [f64; 2],
    /// What G52 has to do with that: it moves the origin under every work offset.
    local: [f64; 2],
    tip: Option<[f64; 2]>,
    others: BTreeMap<u8, [f64; 2]>,
}

impl Frame {
    /// Whether the next move starts under the origin that the last one ended under.
    pub fn stays(&self, from: &Pose, number: u8) -> bool {
        number == self.number && self.jump(from).is_none()
    }

    /// Takes over the origin that the next move starts under. A move may be looked at twice, first as part of its cycle:
    /// the jump counts once.
    pub fn depart(&mut self, from: &Pose, number: u8) {
        if number != self.number {
            let ([x, y], [local_x, local_y]) = (self.drift, self.local);
            self.others.insert(self.number, [x - local_x, y - local_y]);
            let [x, y] = self.others.get(&number).copied().unwrap_or_default();
            self.drift = [x + local_x, y + local_y];
            self.number = number;
        } else if let Some([x, y]) = self.jump(from) {
            let [drift_x, drift_y] = self.drift;
            self.drift = [drift_x + x, drift_y + y];
        }
        self.tip = sideways(from);
    }

    /// Takes a shift by G52, which is known also where the position is not.
    pub fn shift(&mut self, [by_x, by_y]: [f64; 2]) {
        let ([x, y], [local_x, local_y]) = (self.drift, self.local);
        self.drift = [x + by_x, y + by_y];
        self.local = [local_x + by_x, local_y + by_y];
        self.tip = self.tip.map(|[x, y]| [x - by_x, y - by_y]);
    }

    /// How far the coordinates have jumped since the last move; `None` where they have not, or nobody can tell.
    fn jump(&self, from: &Pose) -> Option<[f64; 2]> {
        let ([tip_x, tip_y], [x, y]) = (self.tip?, sideways(from)?);
        let moved = (tip_x - x).abs() > JUMP || (tip_y - y).abs() > JUMP;
        moved.then_some([tip_x - x, tip_y - y])
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
