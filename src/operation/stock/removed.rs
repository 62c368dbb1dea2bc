//! What cuts have taken away, in bounded room: for each cell of the panel the shapes that still matter in it.
//!
//! A shape is dropped from a cell when another that goes as deep takes all of what it takes there, and a cell that one
//! shape takes whole needs no other. A cell whose patches are gone one by one is gone as well. So a panel cut over and
//! over keeps a few shapes a cell, and a question about a place costs the same however many moves came before.

use super::ahead::{Ahead, PatchView};
use super::cells::{Block, Cells};
use super::front::Front;
use super::outline::Lies;
use super::patch::Patches;
use super::swept::Swept;
use super::view::View;
use super::way::{Reach, Way};
use std::ops::Range;

/// Heights closer than this are the same, mm.
pub const SAME_HEIGHT: f64 = 0.005;
const SAME_HEIGHT_SINGLE: f32 = 0.005;
/// What single precision may be wrong by, mm.
const SLACK: f32 = 1e-3;
/// Most shapes in a cell: a crowded one forgets the shape that reaches least into it, and engagement there comes out
/// too large.
const CROWD: usize = 48;
/// End of a list.
const NONE: u32 = u32::MAX;

/// What is known of a cell besides the height down to which all of it is gone.
#[derive(Clone, Copy, Debug)]
struct Cell {
    /// Newest shape in it.
    first: u32,
    /// Patches of it taken whole, each by one shape or another.
    patches: Patches,
}

/// A shape in a cell, with its height and where it lies there.
#[derive(Clone, Copy, Debug)]
struct Node {
    shape: u32,
    next: u32,
    z: f32,
    lie: Lie,
}

/// Where a shape lies in a cell, by distances from its border, negative inside.
#[derive(Clone, Copy, Debug)]
struct Lie {
    /// At the middle; for the hollow side of an arc, the least in the cell.
    middle: f32,
    /// At the corners: its greatest distances in the cell, for a distance from a straight way is convex.
    corners: [f32; 4],
    /// How it grows at the middle: a plane through `middle` that grows so lies below its distances everywhere.
    gradient: [f32; 2],
}

impl Lie {
    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
    fn of(way: &Way, [x, y]: [f64; 2], half: f64) -> Self {
        let Reach { distance, gradient, convex } = way.reach([x, y]);
        let far = half * std::f64::consts::SQRT_2;
        let steps = [[-half, -half], [half, -half], [half, half], [-half, half]];
        // No distance grows faster than the way to where it is measured.
        let (middle, gradient) = if convex { (distance, gradient) } else { (distance - far, [0.0; 2]) };
        let corners = match way.circle() {
            None => steps.map(|[dx, dy]| way.distance([x + dx, y + dy])),
            Some(_) => [distance + far; 4],
        };
        Self {
            middle: middle as f32,
            corners: corners.map(|distance| distance as f32),
            gradient: gradient.map(|part| part as f32),
        }
    }

    /// How far a place surely lies outside the shape, seen from the middle of the cell.
    fn at_least(&self, [x, y]: [f32; 2]) -> f32 {
        let [gx, gy] = self.gradient;
        self.middle + gx * x + gy * y
    }

    /// Whether the whole cell is taken.
    fn is_whole(&self) -> bool {
        self.corners.iter().all(|distance| *distance <= 0.0)
    }

    /// Whether the shape surely takes all that another takes in the cell: its distances lie below the plane through
    /// its corners, the other's above its touching plane, and planes are compared at the corners of a cell `half` a side.
    fn covers(&self, other: &Self, half: f32) -> bool {
        let steps = [[-half, -half], [half, -half], [half, half], [-half, half]];
        self.middle <= other.middle && self.corners.iter().zip(steps).all(|(own, step)| *own <= other.at_least(step))
    }
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
#[derive(Debug)]
pub struct Removed {
    /// Height down to which all of each cell is gone.
    gone: Vec<f32>,
    cells: Vec<Cell>,
    nodes: Vec<Node>,
    free_nodes: u32,
    kept: Vec<Kept>,
    free_shapes: Vec<u32>,
    question: u32,
}

impl Removed {
    /// Nothing taken away yet: gone is what lies outside.
    pub fn outside(lies: &[Lies]) -> Self {
        let gone = lies.iter().map(|lies| if *lies == Lies::Outside { f32::NEG_INFINITY } else { f32::INFINITY });
        Self {
            gone: gone.collect(),
            cells: vec![Cell { first: NONE, patches: Patches::default() }; lies.len()],
            nodes: Vec::new(),
            free_nodes: NONE,
            kept: Vec::new(),
            free_shapes: Vec::new(),
            question: 0,
        }
    }

    /// Whether all of a cell is gone down to a height.
    pub fn is_gone(&self, cell: usize, z: f64) -> bool {
        self.gone.get(cell).is_none_or(|gone| f64::from(*gone) <= z + SAME_HEIGHT)
    }

    /// Whether each of some cells is gone down to a height.
    fn are_gone(&self, cells: Range<usize>, z: f64) -> impl Iterator<Item = bool> {
        let gone = self.gone.get(cells).unwrap_or_default();
        gone.iter().map(move |gone| f64::from(*gone) <= z + SAME_HEIGHT)
    }

    /// What cells and patches tell of the tool's front: the parts of it that pass one not gone down to `z`.
    pub fn ahead(&self, cells: &Cells, block: &Block, z: f64, view: &View) -> Ahead {
        let (mut ahead, patches) = (Ahead::default(), PatchView::new(view, cells.side()));
        for (cell, middle) in cells.middles(block) {
            if !self.is_gone(cell, z)
                && let Some(cell) = self.cells.get(cell)
            {
                patches.find(cell.patches.left(z), view.local(middle), &mut ahead);
            }
        }
        ahead
    }

    /// Notes that a shape has been taken away.
    pub fn take(&mut self, cells: &Cells, shape: Swept) {
        let number = self.number(shape);
        let (way, z, half) = (shape.way(), shape.z_single(), cells.side() / 2.0);
        let far = way.radius() + half * std::f64::consts::SQRT_2;
        for (cell, middle) in cells.middles(&cells.block(way.bounds())) {
            if self.is_gone(cell, shape.z()) || way.square(middle) > far * far {
                continue;
            }
            let lie = Lie::of(&way, middle, half);
            if lie.is_whole() || self.take_patches(cell, (&way, z), (middle, half)) {
                self.take_in(cell, number, lie, (z, half));
            }
        }
        self.let_idle(number);
    }

    /// Frees a shape that no cell needs.
    fn let_idle(&mut self, number: u32) {
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

    /// Notes which patches of a cell a shape takes whole; false when all it touches there was gone before.
    fn take_patches(&mut self, cell: usize, (way, z): (&Way, f32), (middle, half): ([f64; 2], f64)) -> bool {
        let Some((cell, gone)) = self.cells.get_mut(cell).zip(self.gone.get_mut(cell)) else { return false };
        let touched = cell.patches.take(way, z, middle, half);
        *gone = gone.min(cell.patches.gone());
        touched
    }

    fn take_in(&mut self, cell: usize, number: u32, lie: Lie, (z, half): (f32, f64)) {
        if !self.make_room(cell, &lie, (z, half)) {
            return;
        }
        let node = self.node(Node { shape: number, next: self.first(cell), z, lie });
        if let Some((cell, gone)) = self.cells.get_mut(cell).zip(self.gone.get_mut(cell)) {
            cell.first = node;
            if lie.is_whole() {
                *gone = gone.min(z);
            }
        }
    }

    /// Drops what a new shape makes idle in a cell; false when an older one makes the new shape idle.
    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
    fn make_room(&mut self, cell: usize, new: &Lie, (z, half): (f32, f64)) -> bool {
        let (whole, half) = (new.is_whole(), half as f32);
        let (mut before, mut at) = (NONE, self.first(cell));
        let (mut count, mut least) = (0, (f32::NEG_INFINITY, NONE, NONE));
        while let Some(&Node { next, z: old_z, lie: old, .. }) = self.nodes.get(at as usize) {
            if z <= old_z + SAME_HEIGHT_SINGLE && (whole || new.covers(&old, half)) {
                self.unlink(cell, before, at);
            } else {
                if !whole && old_z <= z + SAME_HEIGHT_SINGLE && old.covers(new, half) {
                    return false;
                }
                count += 1;
                if old.middle > least.0 {
                    least = (old.middle, before, at);
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

    fn node(&mut self, node: Node) -> u32 {
        if let Some(kept) = self.kept.get_mut(node.shape as usize) {
            kept.uses += 1;
        }
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
        let Some(&Node { shape, next, .. }) = self.nodes.get(at as usize) else { return };
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

    /// Takes what is gone down to `z` in a box out of the tool's front: cells that are gone as they are, others by their
    /// shapes. Shapes that stop higher are collected.
    pub fn carve(
        &mut self,
        (cells, block): (&Cells, &Block),
        z: f64,
        view: &View,
        front: &mut Front,
        higher: &mut Vec<Swept>,
    ) {
        for row in block.rows() {
            self.carve_cells(cells, row, z, view, front);
            if front.is_empty() {
                return;
            }
        }
        self.question = self.question.wrapping_add(1);
        let half = cells.side() / 2.0;
        for (cell, [x, y]) in cells.middles(block) {
            let ([at_x, at_y], about) = view.hull(front);
            let near = (at_x - x).abs().max((at_y - y).abs()) < half + about;
            if near && !self.is_gone(cell, z) {
                self.carve_shapes((cell, [x, y]), z, view, front, higher);
                if front.is_empty() {
                    return;
                }
            }
        }
    }

    /// Takes the shapes of a cell out of the tool's front, those its remaining parts may meet.
    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
    fn carve_shapes(
        &mut self,
        (cell, [x, y]): (usize, [f64; 2]),
        z: f64,
        view: &View,
        front: &mut Front,
        higher: &mut Vec<Swept>,
    ) {
        let seen = |front: &Front| {
            let ([at_x, at_y], about) = view.hull(front);
            ([(at_x - x) as f32, (at_y - y) as f32], about as f32 + SLACK)
        };
        let (mut place, mut about) = seen(front);
        let mut at = self.first(cell);
        while let Some(&Node { shape, next, z: node_z, ref lie }) = self.nodes.get(at as usize) {
            at = next;
            if lie.at_least(place) >= about {
                continue;
            }
            let Some(kept) = self.kept.get_mut(shape as usize).filter(|kept| kept.seen != self.question) else {
                continue;
            };
            kept.seen = self.question;
            if f64::from(node_z) > z + SAME_HEIGHT {
                higher.push(kept.shape);
            } else if kept.shape.carve(view, front) {
                if front.is_empty() {
                    return;
                }
                (place, about) = seen(front);
            }
        }
    }

    /// Takes the cells of a row that are gone down to `z` out of the tool's front, neighbours together.
    fn carve_cells(&self, cells: &Cells, row: Range<usize>, z: f64, view: &View, front: &mut Front) {
        let mut run = row.start..row.start;
        for (cell, gone) in row.clone().zip(self.are_gone(row, z)).chain([(usize::MAX, false)]) {
            if gone {
                run.end = cell + 1;
                continue;
            }
            if !run.is_empty() {
                view.carve_box(cells.box_of(&run), front);
            }
            run = cell.wrapping_add(1)..cell.wrapping_add(1);
        }
    }

    /// Whether some shape took a place away down to a height.
    pub fn has_taken(&self, cell: usize, place: [f64; 2], z: f64) -> bool {
        let mut at = self.first(cell);
        while let Some(&Node { shape, next, .. }) = self.nodes.get(at as usize) {
            let taken = self.kept.get(shape as usize).is_some_and(|kept| {
                kept.shape.z() <= z + SAME_HEIGHT && kept.shape.way().distance(place) <= SAME_HEIGHT
            });
            if taken {
                return true;
            }
            at = next;
        }
        false
    }
}
