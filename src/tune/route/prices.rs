//! Costs already asked for: the search asks for the same ways over and over, and a planned rapid takes long to work out.

use std::cell::Cell;

/// Costs remembered for each stop; a newer one takes the room of an older one it falls together with.
const EACH: usize = 64;
/// Bits of the least and the most room.
const BITS: (u32, u32) = (12, 20);
/// Spreads pairs over the room: the odd number nearest to 2^64 over the golden ratio (D. E. Knuth, The Art of Computer
/// Programming, volume 3, section 6.4, multiplicative hashing).
const SPREAD: u64 = 0x9E37_79B9_7F4A_7C15;

/// A symmetric cost with a memory.
pub(super) struct Prices<'a> {
    cost: &'a dyn Fn(u32, u32) -> f64,
    known: Vec<Cell<(u64, f64)>>,
    /// Bits of a spread key that are not looked at.
    shift: u32,
}

impl<'a> Prices<'a> {
    /// Remembers nothing yet, and has room for the ways between so many stops.
    pub fn new(cost: &'a dyn Fn(u32, u32) -> f64, stops: usize) -> Self {
        let bits = (stops.saturating_mul(EACH).max(1).ilog2() + 1).clamp(BITS.0, BITS.1);
        // No pair of stops has this key: the lower one comes first.
        Self { cost, known: vec![Cell::new((u64::MAX, 0.0)); 1 << bits], shift: u64::BITS - bits }
    }

    /// Cost of the way between two stops.
    pub fn of(&self, a: u32, b: u32) -> f64 {
        let (low, high) = (a.min(b), a.max(b));
        let key = u64::from(low) << 32 | u64::from(high);
        let Some(slot) = self.known.get((key.wrapping_mul(SPREAD) >> self.shift) as usize) else {
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

    #[test]
    fn a_price_is_asked_for_once_and_never_confused() {
        let asked = Cell::new(0);
        let cost = |a: u32, b: u32| {
            asked.set(asked.get() + 1);
            f64::from(a + b) + f64::from(a * b) / 1e9
        };
        let prices = Prices::new(&cost, 4096);
        for _ in 0..2 {
            for (a, b) in (0..300).flat_map(|a| (0..300).map(move |b| (a, b))) {
                assert_eq!(prices.of(a, b), f64::from(a + b) + f64::from(a * b) / 1e9);
            }
        }
        assert!(asked.get() < 90_000, "{} of 180 000 asked for", asked.get());
    }
}
