//! Finds the hole already at a place: an open table of places, hashed by cells of one millimetre.

use super::Hole;
use hashbrown::HashTable;

/// Two holes nearer than this are at the same place, mm; house value.
const SAME_PLACE: f64 = 0.05;
/// Cell borders lie at this fraction of a millimetre, where posted positions seldom do.
const BORDER: f64 = 0.2871;

/// The latest hole at each place.
#[derive(Default)]
pub(super) struct Places {
    table: HashTable<u32>,
}

impl Places {
    /// The latest hole at a place.
    pub fn find(&self, holes: &[Hole], at: [f64; 2]) -> Option<u32> {
        Cells::around(at).find_map(|cell| self.table.find(hash(cell), |index| is_at(holes, *index, at)).copied())
    }

    /// Puts hole `index`, about to be added to `holes`, at a place; returns the hole that was there before.
    pub fn put(&mut self, holes: &[Hole], at: [f64; 2], index: u32) -> Option<u32> {
        for cell in Cells::around(at) {
            if let Some(slot) = self.table.find_mut(hash(cell), |index| is_at(holes, *index, at)) {
                return Some(std::mem::replace(slot, index));
            }
        }
        let rehash = |index: &u32| holes.get(*index as usize).map_or(0, |hole| hash(cell([hole.x, hole.y])));
        self.table.insert_unique(hash(cell(at)), index, rehash);
        None
    }
}

/// Whether two places count as one.
pub(super) fn near([x, y]: [f64; 2], [other_x, other_y]: [f64; 2]) -> bool {
    let (dx, dy) = (x - other_x, y - other_y);
    dx * dx + dy * dy <= SAME_PLACE * SAME_PLACE
}

fn is_at(holes: &[Hole], index: u32, at: [f64; 2]) -> bool {
    holes.get(index as usize).is_some_and(|hole| near([hole.x, hole.y], at))
}

/// The cells that may hold a hole at a place: its own, and neighbours when it lies close to a border.
struct Cells {
    low: [i64; 2],
    high: [i64; 2],
    next: u8,
}

impl Cells {
    fn around([x, y]: [f64; 2]) -> Self {
        let low = cell([x - SAME_PLACE, y - SAME_PLACE]);
        let high = cell([x + SAME_PLACE, y + SAME_PLACE]);
        Self { low, high, next: 0 }
    }
}

impl Iterator for Cells {
    type Item = [i64; 2];

    fn next(&mut self) -> Option<[i64; 2]> {
        let ([low_x, low_y], [high_x, high_y]) = (self.low, self.high);
        loop {
            let corner = self.next;
            self.next += 1;
            return match corner {
                0 => Some(self.low),
                1 if high_x != low_x => Some([high_x, low_y]),
                2 if high_y != low_y => Some([low_x, high_y]),
                3 if high_x != low_x && high_y != low_y => Some(self.high),
                1..=3 => continue,
                _ => None,
            };
        }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "a saturated cell is still a cell")]
fn cell([x, y]: [f64; 2]) -> [i64; 2] {
    [libm::floor(x + BORDER) as i64, libm::floor(y + BORDER) as i64]
}

/// Multiplies and folds, so that both the low and the high bits depend on both coordinates.
fn hash([x, y]: [i64; 2]) -> u64 {
    let word = (x.cast_unsigned() << 32) ^ (y.cast_unsigned() & 0xffff_ffff);
    let product = u128::from(word) * 0x9e37_79b9_7f4a_7c15_u128;
    ((product >> 64) ^ product) as u64
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
