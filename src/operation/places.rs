//! Finds the hole already at a place: an open table of places, keyed by cells of one millimetre.

use super::Hole;

/// Two holes nearer than this are at the same place, mm; house value.
const SAME_PLACE: f64 = 0.05;
/// Cell borders lie at this fraction of a millimetre, where posted positions seldom do.
const BORDER: f64 = 0.2871;
/// Slots looked at before a place counts as new; only positions far outside any machine crowd so.
const MOST_PROBES: usize = 4096;

/// The latest hole at each place.
#[derive(Default)]
pub(super) struct Places {
    /// A power of two of slots, at least half of them free.
    slots: Vec<Slot>,
    filled: usize,
}

#[derive(Clone, Copy, Default)]
struct Slot {
    /// Key of the cell the place lies in.
    key: u32,
    /// Index of the hole plus one; 0 for a free slot.
    hole: u32,
}

impl Places {
    /// The latest hole at a place.
    pub fn find(&self, holes: &[Hole], at: [f64; 2]) -> Option<u32> {
        Cells::around(at).keys().find_map(|key| {
            let slot = self.slots.get(self.seek(holes, at, key)?)?;
            slot.hole.checked_sub(1)
        })
    }

    /// Puts hole `index`, about to be added to `holes`, at a place; returns the hole that was there before.
    pub fn put(&mut self, holes: &[Hole], at: [f64; 2], index: u32) -> Option<u32> {
        if 2 * (self.filled + 1) > self.slots.len() {
            self.grow();
        }
        let hole = index.saturating_add(1);
        let mut free = None;
        for key in Cells::around(at).keys() {
            let Some(found) = self.seek(holes, at, key) else { continue };
            let Some(slot) = self.slots.get_mut(found) else { continue };
            if slot.hole != 0 {
                return std::mem::replace(&mut slot.hole, hole).checked_sub(1);
            }
            free = free.or(Some((found, key)));
        }
        let (found, key) = free?;
        let slot = self.slots.get_mut(found)?;
        *slot = Slot { key, hole };
        self.filled += 1;
        None
    }

    /// The slot of a place in the cell with that key, or the free slot it would take.
    fn seek(&self, holes: &[Hole], at: [f64; 2], key: u32) -> Option<usize> {
        let mask = self.slots.len().wrapping_sub(1);
        (0..MOST_PROBES).map(|probe| (key as usize).wrapping_add(probe) & mask).find(|index| {
            self.slots.get(*index).is_some_and(|slot| match slot.hole.checked_sub(1) {
                Some(hole) => slot.key == key && is_at(holes, hole, at),
                None => true,
            })
        })
    }

    fn grow(&mut self) {
        let larger = (2 * self.slots.len()).max(64);
        let smaller = std::mem::replace(&mut self.slots, vec![Slot::default(); larger]);
        for slot in smaller.into_iter().filter(|slot| slot.hole != 0) {
            let mut index = slot.key as usize & (larger - 1);
            while let Some(place) = self.slots.get_mut(index) {
                if place.hole == 0 {
                    *place = slot;
                    break;
                }
                index = (index + 1) & (larger - 1);
            }
        }
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

    fn keys(self) -> impl Iterator<Item = u32> {
        let ([x, y], [beside_x, beside_y]) = (self.own, self.beside);
        let corners = [(0, 0), (beside_x, 0), (0, beside_y), (beside_x, beside_y)];
        let wanted = [true, beside_x != 0, beside_y != 0, beside_x != 0 && beside_y != 0];
        let cells = corners.into_iter().zip(wanted).filter(|(_, wanted)| *wanted);
        cells.map(move |((dx, dy), _)| key([x.wrapping_add(dx), y.wrapping_add(dy)]))
    }
}

/// Cell of a coordinate, and where its neighbour lies when it is close to the border.
#[expect(clippy::cast_possible_truncation, clippy::cast_precision_loss, reason = "a saturated cell is still a cell")]
fn cell(coordinate: f64) -> (i64, i64) {
    let shifted = coordinate + BORDER;
    let towards_zero = shifted as i64;
    let cell = towards_zero - i64::from(shifted < towards_zero as f64);
    let fraction = shifted - cell as f64;
    (cell, i64::from(fraction > 1.0 - SAME_PLACE) - i64::from(fraction < SAME_PLACE))
}

/// Cells side by side in one tile have keys side by side: holes drilled row by row then share cache lines.
const TILE_BITS: u32 = 3;

/// Key of a cell: the high bits of a product that depends on both coordinates of its tile, then the place in the tile.
fn key([x, y]: [i64; 2]) -> u32 {
    let tile = x >> TILE_BITS;
    let mixed = tile.wrapping_mul(0x9e37_79b9) ^ y.wrapping_mul(0x85eb_ca6b);
    let spread = mixed.cast_unsigned().wrapping_mul(0x9e37_79b9_7f4a_7c15) >> (32 + TILE_BITS);
    let within = (x - (tile << TILE_BITS)).cast_unsigned();
    u32::try_from(spread << TILE_BITS | within).unwrap_or(0)
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
