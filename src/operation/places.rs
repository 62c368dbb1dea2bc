//! Finds the hole already at a place: tiles of one-millimetre cells, each cell with the places in it.

use super::Hole;
use rustc_hash::FxHashMap;

/// Two holes nearer than this are at the same place, mm; house value.
const SAME_PLACE: f64 = 0.05;
/// Cell borders lie at this fraction of a millimetre, where posted positions seldom do.
const BORDER: f64 = 0.2871;
/// Places of one cell looked at before a place counts as new; only positions far outside any machine crowd so.
const MOST_IN_CELL: usize = 4096;
/// A tile is this many cells wide and high: few enough that scattered holes leave little of it empty.
const TILE: usize = 8;

/// The latest hole at each place. Holes drilled row by row find the tiles that the row before has left near by.
#[derive(Default)]
pub(super) struct Places {
    places: Vec<Place>,
    /// For each cell of a tile the place found first, as index + 1; 0 for none.
    tiles: Vec<[u32; TILE * TILE]>,
    /// Index of a tile by its column and row.
    by_position: FxHashMap<[i64; 2], u32>,
    /// The tile of the place put last, often that of the next one too.
    last: Option<([i64; 2], u32)>,
}

/// The places under each work offset, for holes along each axis; a program has few of these.
#[derive(Default)]
pub(super) struct AllPlaces(Vec<((u8, usize), Places)>);

impl AllPlaces {
    /// Places under work offset `number` for holes along `axis`.
    pub fn of(&self, number: u8, axis: usize) -> Option<&Places> {
        self.0.iter().find(|(of, _)| *of == (number, axis)).map(|(_, places)| places)
    }

    /// Puts hole `index`, about to be added to `holes`, at its place; returns the hole that was there before.
    pub fn put(&mut self, (number, axis): (u8, usize), holes: &[Hole], at: [f64; 2], index: u32) -> Option<u32> {
        let known = self.0.iter().position(|(of, _)| *of == (number, axis));
        let slot = known.unwrap_or_else(|| {
            self.0.push(((number, axis), Places::default()));
            self.0.len() - 1
        });
        self.0.get_mut(slot).and_then(|(_, places)| places.put(holes, at, index))
    }
}

/// A place with a hole.
#[derive(Clone, Copy)]
struct Place {
    /// Index of the latest hole there.
    hole: u32,
    /// The next place in the same cell, as index + 1; 0 for none.
    next: u32,
}

impl Places {
    /// The latest hole at a place.
    pub fn find(&self, holes: &[Hole], at: [f64; 2]) -> Option<u32> {
        let place = self.place(holes, at, Cells::around(at))?;
        self.places.get(place).map(|place| place.hole)
    }

    /// Puts hole `index`, about to be added to `holes`, at a place; returns the hole that was there before.
    pub fn put(&mut self, holes: &[Hole], at: [f64; 2], index: u32) -> Option<u32> {
        let cells = Cells::around(at);
        let (tile, within) = split(cells.own);
        let number = self.tile(tile).unwrap_or_else(|| self.add_tile(tile));
        let near = |cell| self.place_in(cell, holes, at);
        let known = self.place_in_tile(number, within, holes, at).or_else(|| cells.neighbours().find_map(near));
        self.last = Some((tile, number));
        if let Some(place) = known.and_then(|place| self.places.get_mut(place)) {
            return Some(std::mem::replace(&mut place.hole, index));
        }
        let first = self.tiles.get_mut(number as usize).and_then(|tile| tile.get_mut(within))?;
        self.places.push(Place { hole: index, next: *first });
        *first = u32::try_from(self.places.len()).unwrap_or(0);
        None
    }

    /// Index of the place that counts as one with `at`.
    fn place(&self, holes: &[Hole], at: [f64; 2], cells: Cells) -> Option<usize> {
        let within = |cell| self.place_in(cell, holes, at);
        within(cells.own).or_else(|| cells.neighbours().find_map(within))
    }

    fn place_in(&self, cell: [i64; 2], holes: &[Hole], at: [f64; 2]) -> Option<usize> {
        let (tile, within) = split(cell);
        self.place_in_tile(self.tile(tile)?, within, holes, at)
    }

    fn place_in_tile(&self, tile: u32, within: usize, holes: &[Hole], at: [f64; 2]) -> Option<usize> {
        let mut next = *self.tiles.get(tile as usize)?.get(within)?;
        for _ in 0..MOST_IN_CELL {
            let index = next.checked_sub(1)? as usize;
            let place = self.places.get(index)?;
            if is_at(holes, place.hole, at) {
                return Some(index);
            }
            next = place.next;
        }
        None
    }

    fn tile(&self, position: [i64; 2]) -> Option<u32> {
        let last = self.last.filter(|(last, _)| *last == position);
        last.map(|(_, number)| number).or_else(|| self.by_position.get(&position).copied())
    }

    fn add_tile(&mut self, position: [i64; 2]) -> u32 {
        let number = u32::try_from(self.tiles.len()).unwrap_or(u32::MAX);
        self.tiles.push([0; TILE * TILE]);
        self.by_position.insert(position, number);
        number
    }
}

/// Position of a cell's tile, and the cell's index in it.
fn split([x, y]: [i64; 2]) -> ([i64; 2], usize) {
    let size = TILE as i64;
    let within = y.rem_euclid(size) * size + x.rem_euclid(size);
    ([x.div_euclid(size), y.div_euclid(size)], within as usize)
}

/// Whether two places count as one.
pub(super) fn near([x, y]: [f64; 2], [other_x, other_y]: [f64; 2]) -> bool {
    let (dx, dy) = (x - other_x, y - other_y);
    dx * dx + dy * dy <= SAME_PLACE * SAME_PLACE
}

fn is_at(holes: &[Hole], index: u32, at: [f64; 2]) -> bool {
    holes.get(index as usize).is_some_and(|hole| near([hole.x, hole.y], at))
}

/// The cells that may hold a hole at a place: its own first, then neighbours when it lies close to a border.
#[derive(Clone, Copy)]
struct Cells {
    own: [i64; 2],
    /// Towards the neighbour along each axis; 0 for none.
    beside: [i64; 2],
}

impl Cells {
    fn around([x, y]: [f64; 2]) -> Self {
        let ((own_x, beside_x), (own_y, beside_y)) = (cell(x), cell(y));
        Self { own: [own_x, own_y], beside: [beside_x, beside_y] }
    }

    fn neighbours(self) -> impl Iterator<Item = [i64; 2]> {
        let ([x, y], [beside_x, beside_y]) = (self.own, self.beside);
        let steps = [(beside_x, 0), (0, beside_y), (beside_x, beside_y)].into_iter();
        steps.filter(|step| *step != (0, 0)).map(move |(dx, dy)| [x.saturating_add(dx), y.saturating_add(dy)])
    }
}

/// Cell of a coordinate, and where its neighbour lies when it is close to the border.
#[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "a saturated cell is still a cell")]
fn cell(coordinate: f64) -> (i64, i64) {
    let shifted = coordinate + BORDER;
    let towards_zero = shifted as i64;
    let cell = towards_zero.saturating_sub(i64::from(shifted < towards_zero as f64));
    let fraction = shifted - cell as f64;
    (cell, i64::from(fraction > 1.0 - SAME_PLACE) - i64::from(fraction < SAME_PLACE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::{TraceId, UNSTATED};
    use crate::source::SourceId;

    fn hole(x: f64, y: f64) -> Hole {
        Hole {
            x,
            y,
            recipe: 0,
            block: 0,
            stated: 0,
            feed_at: UNSTATED,
            speed_at: UNSTATED,
            trace: TraceId(0),
            source: SourceId(0),
        }
    }

    fn put(places: &mut Places, holes: &mut Vec<Hole>, x: f64, y: f64) -> Option<u32> {
        let earlier = places.put(holes, [x, y], u32::try_from(holes.len()).unwrap());
        holes.push(hole(x, y));
        earlier
    }

    #[test]
    fn places_no_machine_reaches_have_cells_too() {
        let mut places = Places::default();
        for at in [[-1e300, 1e300], [f64::MIN, f64::MAX], [-9.3e18, 9.3e18]] {
            assert_eq!(places.put(&[], at, 0), None);
            places = Places::default();
        }
    }

    #[test]
    fn a_place_is_found_again_across_cell_borders() {
        let (mut places, mut holes) = (Places::default(), Vec::new());
        let border = 1.0 - BORDER;
        assert_eq!(put(&mut places, &mut holes, border - 0.02, border - 0.02), None);
        assert_eq!(put(&mut places, &mut holes, border + 0.01, border + 0.01), Some(0));
        assert_eq!(put(&mut places, &mut holes, border + 0.03, border), Some(1));
        assert_eq!(put(&mut places, &mut holes, border + 0.2, border), None);
    }

    #[test]
    fn ten_thousand_places_stay_apart() {
        let (mut places, mut holes) = (Places::default(), Vec::new());
        for turn in 0..2 {
            for index in 0..10_000_u32 {
                let (x, y) = (f64::from(index % 100) * 0.7 - 30.0, f64::from(index / 100) * 0.7 - 30.0);
                let expected = (turn == 1).then_some(index);
                assert_eq!(put(&mut places, &mut holes, x, y), expected);
            }
        }
        assert_eq!(places.find(&holes, [-30.0, -29.3]), Some(10_100));
    }
}
