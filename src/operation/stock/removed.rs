//! What cuts have taken away, in bounded room: for each cell of the panel the shapes that still matter in it.
//!
//! A shape is dropped from a cell when another that goes as deep takes all of what it takes there, and a cell that one
//! shape takes whole needs no other. So a panel cut over and over keeps a few shapes a cell, and a question about a place
//! costs the same however many moves came before.

use super::cells::Cells;
use super::front::{Front, View};
use super::swept::{Reach, Swept};

/// Heights closer than this are the same, mm.
pub const SAME_HEIGHT: f64 = 0.005;
/// Most shapes in a cell: a crowded one forgets the shape that reaches least into it, and engagement there comes out
/// too large.
const CROWD: usize = 48;
/// End of a list.
const NONE: u32 = u32::MAX;

#[derive(Clone, Copy, Debug)]
struct Cell {
    /// Height down to which the whole cell is gone.
    gone: f32,
    first: u32,
}

#[derive(Clone, Copy, Debug)]
struct Node {
    shape: u32,
    next: u32,
}

#[derive(Clone, Copy, Debug)]
struct Kept {
    shape: Swept,
    /// In how many cells.
    uses: u32,
    /// Question it was last looked at for.
    seen: u32,
}

/// Shapes taken away.
#[derive(Debug, Default)]
pub struct Removed {
    cells: Vec<Cell>,
    nodes: Vec<Node>,
    free_nodes: u32,
    kept: Vec<Kept>,
    free_shapes: Vec<u32>,
    question: u32,
}

/// Least distance at each corner of a cell that a shape surely has, or its greatest: its reach there.
type Corners = [f64; 4];

impl Removed {
    /// Nothing taken away yet.
    pub fn new(count: usize) -> Self {
        Self { cells: vec![Cell { gone: f32::INFINITY, first: NONE }; count], free_nodes: NONE, ..Self::default() }
    }

    /// Whether all of a cell is gone down to a height.
    pub fn is_gone(&self, cell: usize, z: f64) -> bool {
        self.cells.get(cell).is_none_or(|cell| f64::from(cell.gone) <= z + SAME_HEIGHT)
    }

    /// Notes that a shape has been taken away.
    pub fn take(&mut self, cells: &Cells, shape: Swept) {
        let number = self.number(shape);
        for cell in cells.within(shape.bounds()) {
            if !self.is_gone(cell, shape.z()) {
                self.take_in(cells, cell, number, &shape);
            }
        }
        if self.kept.get(number as usize).is_some_and(|kept| kept.uses == 0) {
            self.free_shapes.push(number);
        }
    }

    fn number(&mut self, shape: Swept) -> u32 {
        let kept = Kept { shape, uses: 0, seen: 0 };
        if let Some(number) = self.free_shapes.pop() {
            if let Some(slot) = self.kept.get_mut(number as usize) {
                *slot = kept;
            }
            return number;
        }
        self.kept.push(kept);
        u32::try_from(self.kept.len() - 1).unwrap_or(NONE)
    }

    fn take_in(&mut self, cells: &Cells, cell: usize, number: u32, shape: &Swept) {
        let (middle, half) = (cells.middle(cell), cells.side() / 2.0);
        let reach = shape.reach(middle);
        if reach.distance > half * std::f64::consts::SQRT_2 {
            return;
        }
        let corners = corners(middle, half).map(|corner| shape.reach(corner).distance);
        let whole = corners.iter().all(|distance| *distance <= 0.0);
        if !self.make_room(cell, middle, half, (shape, reach, &corners, whole)) {
            return;
        }
        let node = self.node(number, self.cells.get(cell).map_or(NONE, |cell| cell.first));
        if let Some(cell) = self.cells.get_mut(cell) {
            cell.first = node;
            if whole {
                #[expect(clippy::cast_possible_truncation, reason = "the height comes from single precision")]
                let z = shape.z() as f32;
                cell.gone = cell.gone.min(z);
            }
        }
    }

    /// Drops what a new shape makes idle in a cell; false when an older one makes the new shape idle.
    fn make_room(
        &mut self,
        cell: usize,
        middle: [f64; 2],
        half: f64,
        (new, reach, corners_of_new, whole): (&Swept, Reach, &Corners, bool),
    ) -> bool {
        let (mut before, mut at) = (NONE, self.first(cell));
        let (mut count, mut least) = (0, (f64::NEG_INFINITY, NONE, NONE));
        while let Some(&Node { shape, next }) = self.nodes.get(at as usize) {
            let Some(old) = self.kept.get(shape as usize).map(|kept| kept.shape) else { break };
            let of_old = old.reach(middle);
            let deeper = new.z() <= old.z() + SAME_HEIGHT;
            let idle = deeper && (whole || (of_old.distance >= reach.distance && covers(corners_of_new, of_old, half)));
            if idle {
                self.unlink(cell, before, at);
            } else {
                if !whole && old.z() <= new.z() + SAME_HEIGHT && of_old.distance <= reach.distance {
                    let of_old = corners(middle, half).map(|corner| old.reach(corner).distance);
                    if covers(&of_old, reach, half) {
                        return false;
                    }
                }
                count += 1;
                if of_old.distance > least.0 {
                    least = (of_old.distance, before, at);
                }
                before = at;
            }
            at = next;
        }
        if count >= CROWD {
            let (_, before, at) = least;
            self.unlink(cell, before, at);
        }
        true
    }

    fn first(&self, cell: usize) -> u32 {
        self.cells.get(cell).map_or(NONE, |cell| cell.first)
    }

    fn node(&mut self, shape: u32, next: u32) -> u32 {
        if let Some(kept) = self.kept.get_mut(shape as usize) {
            kept.uses += 1;
        }
        let node = Node { shape, next };
        let at = self.free_nodes;
        if let Some(slot) = self.nodes.get_mut(at as usize) {
            self.free_nodes = slot.next;
            *slot = node;
            return at;
        }
        self.nodes.push(node);
        u32::try_from(self.nodes.len() - 1).unwrap_or(NONE)
    }

    fn unlink(&mut self, cell: usize, before: u32, at: u32) {
        let Some(&Node { shape, next }) = self.nodes.get(at as usize) else { return };
        match self.nodes.get_mut(before as usize) {
            Some(before) => before.next = next,
            None => {
                if let Some(cell) = self.cells.get_mut(cell) {
                    cell.first = next;
                }
            }
        }
        if let Some(node) = self.nodes.get_mut(at as usize) {
            node.next = self.free_nodes;
        }
        self.free_nodes = at;
        if let Some(kept) = self.kept.get_mut(shape as usize) {
            kept.uses = kept.uses.saturating_sub(1);
            if kept.uses == 0 {
                self.free_shapes.push(shape);
            }
        }
    }

    /// Takes what is gone down to `z` in these cells out of the tool's front. Shapes that stop higher are collected.
    pub fn carve(
        &mut self,
        cells: impl Iterator<Item = usize>,
        z: f64,
        view: &View,
        front: &mut Front,
        higher: &mut Vec<Swept>,
    ) {
        self.question = self.question.wrapping_add(1);
        for cell in cells {
            let mut at = self.first(cell);
            while let Some(&Node { shape, next }) = self.nodes.get(at as usize) {
                at = next;
                let Some(kept) = self.kept.get_mut(shape as usize).filter(|kept| kept.seen != self.question) else {
                    continue;
                };
                kept.seen = self.question;
                if kept.shape.z() > z + SAME_HEIGHT {
                    higher.push(kept.shape);
                    continue;
                }
                kept.shape.carve(view, front);
                if front.is_empty() {
                    return;
                }
            }
        }
    }

    /// Whether some shape took a place away down to a height.
    pub fn has_taken(&self, cell: usize, place: [f64; 2], z: f64) -> bool {
        let mut at = self.first(cell);
        while let Some(&Node { shape, next }) = self.nodes.get(at as usize) {
            let taken = self.kept.get(shape as usize).is_some_and(|kept| {
                kept.shape.z() <= z + SAME_HEIGHT && kept.shape.reach(place).distance <= SAME_HEIGHT
            });
            if taken {
                return true;
            }
            at = next;
        }
        false
    }
}

fn corners([x, y]: [f64; 2], half: f64) -> [[f64; 2]; 4] {
    [[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]]
}

/// Whether the shape with these distances at the corners takes all of what another takes in the cell, told by its reach
/// at the middle.
///
/// A distance from a way is convex. So over the cell the first shape's lies below the plane through its corners, and the
/// second's above the plane that touches it at the middle; comparing planes at the corners settles it for every point.
fn covers(corners_of_first: &Corners, second: Reach, half: f64) -> bool {
    let [gx, gy] = second.gradient;
    let steps = [-gx - gy, gx - gy, gx + gy, gy - gx];
    corners_of_first.iter().zip(steps).all(|(first, step)| *first <= second.distance + step * half + 1e-9)
}
