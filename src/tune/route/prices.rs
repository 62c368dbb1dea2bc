//! Costs already asked for: the search asks for the same ways over and over, and a planned rapid takes long to work out.

use std::cell::Cell;

/// Bits of the costs remembered for each stop; a newer one takes the room of an older one it falls together with.
const EACH: u32 = 5;
/// Most stops with room of their own: 16 MB.
const OWN: usize = 1 << 15;
/// Spreads stops over the room: the odd number nearest to 2^32 over the golden ratio (D. E. Knuth, The Art of Computer
/// Programming, volume 3, section 6.4, multiplicative hashing).
const SPREAD: u32 = 0x9E37_79B9;

/// A symmetric cost with a memory.
pub(super) struct Prices<'a> {
    cost: &'a dyn Fn(u32, u32) -> f64,
    /// Room for the ways from each stop to those with a higher number, one stop behind the other.
    known: Vec<Cell<(u64, f64)>>,
    rows: usize,
}

impl<'a> Prices<'a> {
    /// Remembers nothing yet, and has room for the ways between so many stops.
    pub fn new(cost: &'a dyn Fn(u32, u32) -> f64, stops: usize) -> Self {
        let rows = stops.clamp(1, OWN);
        // No pair of stops has this key: the lower one comes first.
        Self { cost, known: vec![Cell::new((u64::MAX, 0.0)); rows << EACH], rows }
    }

    /// Cost of the way between two stops.
    pub fn of(&self, a: u32, b: u32) -> f64 {
        let (low, high) = (a.min(b), a.max(b));
        let key = u64::from(low) << 32 | u64::from(high);
        let place = ((low as usize % self.rows) << EACH) + (high.wrapping_mul(SPREAD) >> (u32::BITS - EACH)) as usize;
        let Some(slot) = self.known.get(place) else {
            return (self.cost)(a, b);
        };
        let (held, known) = slot.get();
        if held == key {
            return known;
        }
        let cost = (self.cost)(a, b);
        slot.set((key, cost));
        cost
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What 12 near stops of each of 1000 cost, asked for twice in a room for so many stops; returns how often it was
    /// worked out.
    fn asked(stops: usize, far: u32) -> u32 {
        let asked = Cell::new(0);
        let price = |a: u32, b: u32| f64::from(a.min(b)) + f64::from(a.max(b)) / 1e6;
        let cost = |a: u32, b: u32| {
            asked.set(asked.get() + 1);
            price(a, b)
        };
        let prices = Prices::new(&cost, stops);
        for round in 0..2 {
            for (a, step) in (0..1000).flat_map(|a| (1..=12).map(move |step| (a, step * step))) {
                let (a, b) = if round == 0 { (a, a + step + far) } else { (a + step + far, a) };
                assert_eq!(prices.of(a, b), price(a, b));
            }
        }
        asked.get()
    }

    #[test]
    fn most_prices_are_asked_for_once() {
        let asked = asked(1200, 0);
        assert!((12_000..16_000).contains(&asked), "{asked} of 24 000");
    }

    #[test]
    fn stops_that_share_room_are_not_confused() {
        assert!(asked(OWN + 1200, OWN as u32) >= 12_000);
        assert!(asked(1, 0) >= 12_000);
    }
}
