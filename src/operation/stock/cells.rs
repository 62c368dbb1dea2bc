//! Square cells over the raw material, row by row.

use std::ops::Range;

/// A grid of cells.
#[derive(Clone, Copy, Debug, Default)]
pub struct Cells {
    corner: [f64; 2],
    side: f64,
    /// One over it.
    inverse: f64,
    columns: usize,
    rows: usize,
}

/// Cells side by side in rows one above the other.
#[derive(Clone, Debug)]
pub struct Block {
    rows: Range<usize>,
    across: Range<usize>,
    /// Columns of the whole grid.
    columns: usize,
}

impl Block {
    /// Its cells, row by row.
    pub fn rows(&self) -> impl Iterator<Item = Range<usize>> + use<> {
        let (columns, across) = (self.columns, self.across.clone());
        self.rows.clone().map(move |row| row * columns + across.start..row * columns + across.end)
    }
}

/// Most cells, whatever the panel's size.
const MOST: f64 = 1_000_000.0;
/// How far the grid's corner stands off that of its box, in cells: an odd share, so that no middle of a cell lies on an
/// edge with a posted coordinate.
const OFF: f64 = 0.718_281_828;

impl Cells {
    /// Cells of about `side` over a box, one more all round.
    pub fn over(([x0, y0], [x1, y1]): ([f64; 2], [f64; 2]), side: f64) -> Self {
        let (width, height) = (x1 - x0, y1 - y0);
        let side = side.max(libm::sqrt(width * height / MOST)).max((width + height) / MOST);
        let count = |length: f64| whole(length / side, usize::MAX) + 3;
        let corner = [x0 - OFF * side, y0 - OFF * side];
        Self { corner, side, inverse: 1.0 / side, columns: count(width), rows: count(height) }
    }

    /// How many.
    pub fn count(&self) -> usize {
        self.columns * self.rows
    }

    /// Side of a cell, mm.
    pub fn side(&self) -> f64 {
        self.side
    }

    /// Row and column of a cell.
    pub fn row_and_column(&self, cell: usize) -> (usize, usize) {
        let columns = self.columns.max(1);
        (cell / columns, cell % columns)
    }

    /// Middle of a cell.
    pub fn middle(&self, cell: usize) -> [f64; 2] {
        let (row, column) = self.row_and_column(cell);
        [self.column_middle(column), self.row_middle(row)]
    }

    /// X of the middle of a column.
    #[expect(clippy::cast_precision_loss, reason = "there are at most a few million cells")]
    fn column_middle(&self, column: usize) -> f64 {
        let [x, _] = self.corner;
        x + (column as f64 + 0.5) * self.side
    }

    /// Y of the middle of a row.
    #[expect(clippy::cast_precision_loss, reason = "there are at most a few million cells")]
    pub fn row_middle(&self, row: usize) -> f64 {
        let [_, y] = self.corner;
        y + (row as f64 + 0.5) * self.side
    }

    /// Least and most X and Y of cells side by side.
    #[expect(clippy::cast_precision_loss, reason = "there are at most a few million cells")]
    pub fn box_of(&self, run: &Range<usize>) -> ([f64; 2], [f64; 2]) {
        let ((row, column), [x, y]) = (self.row_and_column(run.start), self.corner);
        let at = |corner: f64, index: usize| corner + index as f64 * self.side;
        ([at(x, column), at(y, row)], [at(x, column + run.len()), at(y, row + 1)])
    }

    /// The cell of a place; `None` outside.
    pub fn at(&self, [x, y]: [f64; 2]) -> Option<usize> {
        let [x0, y0] = self.corner;
        let inside = x >= x0 && y >= y0;
        let (column, row) = (self.steps(x - x0, usize::MAX), self.steps(y - y0, usize::MAX));
        (inside && column < self.columns && row < self.rows).then(|| row * self.columns + column)
    }

    /// Whether a box lies within the grid.
    pub fn contain(&self, (least, most): ([f64; 2], [f64; 2])) -> bool {
        self.at(least).is_some() && self.at(most).is_some()
    }

    /// The cells a box touches.
    pub fn block(&self, ([x0, y0], [x1, y1]): ([f64; 2], [f64; 2])) -> Block {
        let [x, _] = self.corner;
        Block {
            rows: self.rows_between(y0, y1),
            across: self.between(x0 - x, x1 - x, self.columns),
            columns: self.columns,
        }
    }

    /// The cells of a block with their middles.
    pub fn middles(self, block: &Block) -> impl Iterator<Item = (usize, [f64; 2])> + use<> {
        let across = block.across.clone();
        block.rows.clone().flat_map(move |row| {
            let y = self.row_middle(row);
            across.clone().map(move |column| (row * self.columns + column, [self.column_middle(column), y]))
        })
    }

    /// The rows between two heights.
    pub fn rows_between(&self, low: f64, high: f64) -> Range<usize> {
        let [_, y] = self.corner;
        self.between(low - y, high - y, self.rows)
    }

    fn between(&self, low: f64, high: f64, count: usize) -> Range<usize> {
        if high < 0.0 {
            return 0..0;
        }
        self.steps(low, count)..(self.steps(high, count) + 1).min(count)
    }

    fn steps(&self, length: f64, most: usize) -> usize {
        whole(length * self.inverse, most)
    }

    /// Every cell a straight way touches, perhaps a neighbour more.
    pub fn along(&self, [ax, ay]: [f64; 2], [bx, by]: [f64; 2], mut touch: impl FnMut(usize)) {
        let [x0, _] = self.corner;
        for row in self.rows_between(ay.min(by), ay.max(by)) {
            let (low, high) = (self.row_middle(row) - 0.5001 * self.side, self.row_middle(row) + 0.5001 * self.side);
            let cut = |height: f64| {
                let share = if by == ay { 0.0 } else { ((height - ay) / (by - ay)).clamp(0.0, 1.0) };
                ax + (bx - ax) * share
            };
            let (one, other) = if by == ay { (ax, bx) } else { (cut(low), cut(high)) };
            let slack = 1e-4 * self.side;
            for column in self.between(one.min(other) - slack - x0, one.max(other) + slack - x0, self.columns) {
                touch(row * self.columns + column);
            }
        }
    }
}

/// The whole part of a number, between nothing and `most`; nothing for no number.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates; there are fewer cells")]
fn whole(number: f64, most: usize) -> usize {
    (number as u32 as usize).min(most)
}
