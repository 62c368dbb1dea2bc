//! Likely neighbours of each place, from a grid over the plane.

/// Places wanted in each quarter round a place, so that clusters do not hide what lies beyond them.
const EACH_QUARTER: usize = 2;

/// For each place the `nearest` ones by `cost` and the nearest in each quarter, cheapest first.
///
/// `cost` must grow with distance, as rapid time does.
#[must_use]
pub fn neighbours(places: &[[f64; 2]], nearest: usize, cost: &dyn Fn(u32, u32) -> f64) -> Vec<Vec<u32>> {
    let grid = Grid::over(places);
    (0..places.len()).map(|place| grid.around(places, place, nearest, cost)).collect()
}

struct Grid {
    least: [f64; 2],
    cell: f64,
    columns: usize,
    rows: usize,
    cells: Vec<Vec<u32>>,
}

impl Grid {
    fn over(places: &[[f64; 2]]) -> Self {
        let mut least = [f64::INFINITY; 2];
        let mut most = [f64::NEG_INFINITY; 2];
        for place in places {
            for ((value, least), most) in place.iter().zip(&mut least).zip(&mut most) {
                *least = least.min(*value);
                *most = most.max(*value);
            }
        }
        let [wide, high] = [0, 1].map(|axis: usize| match (least.get(axis), most.get(axis)) {
            (Some(least), Some(most)) => (most - least).max(1e-6),
            _ => 1e-6,
        });
        // About two places a cell, and never more cells along one side than there are places.
        let cell =
            libm::sqrt(2.0 * wide * high / places.len().max(1) as f64).max(wide.max(high) / places.len().max(1) as f64);
        let side = |length: f64| (length / cell) as usize + 1;
        let (columns, rows) = (side(wide), side(high));
        let mut grid = Self { least, cell, columns, rows, cells: vec![Vec::new(); columns * rows] };
        for (index, place) in places.iter().enumerate() {
            let (column, row) = grid.cell_of(*place);
            if let Some(cell) = grid.cells.get_mut(row * grid.columns + column) {
                cell.push(u32::try_from(index).unwrap_or(u32::MAX));
            }
        }
        grid
    }

    fn cell_of(&self, [x, y]: [f64; 2]) -> (usize, usize) {
        let [least_x, least_y] = self.least;
        let column = ((x - least_x) / self.cell) as usize;
        let row = ((y - least_y) / self.cell) as usize;
        (column.min(self.columns - 1), row.min(self.rows - 1))
    }

    fn around(&self, places: &[[f64; 2]], place: usize, nearest: usize, cost: &dyn Fn(u32, u32) -> f64) -> Vec<u32> {
        let Some(&at) = places.get(place) else { return Vec::new() };
        let own = u32::try_from(place).unwrap_or(u32::MAX);
        let mut found: Vec<u32> = Vec::new();
        let (column, row) = self.cell_of(at);
        let enough = nearest + 8 * EACH_QUARTER;
        let farthest = self.columns.max(self.rows);
        let mut beyond = 0;
        for ring in 0..=farthest {
            self.ring(column, row, ring, |other| {
                if other != own {
                    found.push(other)
                }
            });
            // One more ring than needed: a corner of a cell may lie nearer than the next one's middle.
            beyond += usize::from(found.len() >= enough);
            if beyond > 1 {
                break;
            }
        }
        let mut ranked: Vec<(f64, u32)> = found.into_iter().map(|other| (cost(own, other), other)).collect();
        ranked.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let mut quarters = [0; 4];
        let kept = ranked.iter().enumerate().filter(|(rank, (_, other))| {
            let quarter = places.get(*other as usize).map_or(0, |to| quarter(at, *to));
            let count = quarters.get_mut(quarter);
            let wanted = count.as_ref().is_some_and(|count| **count < EACH_QUARTER);
            if let Some(count) = count {
                *count += 1;
            }
            *rank < nearest || wanted
        });
        kept.map(|(_, (_, other))| *other).collect()
    }

    fn ring(&self, column: usize, row: usize, ring: usize, mut take: impl FnMut(u32)) {
        let rows = row.saturating_sub(ring)..=(row + ring).min(self.rows - 1);
        for r in rows {
            let whole = r + ring == row || r == row + ring;
            let columns = column.saturating_sub(ring)..=(column + ring).min(self.columns - 1);
            for c in columns.filter(|c| whole || c + ring == column || *c == column + ring) {
                self.cells.get(r * self.columns + c).into_iter().flatten().for_each(|place| take(*place));
            }
        }
    }
}

fn quarter([x, y]: [f64; 2], [to_x, to_y]: [f64; 2]) -> usize {
    usize::from(to_x > x) + 2 * usize::from(to_y > y)
}
