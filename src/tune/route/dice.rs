//! Numbers that look random and are the same on every machine.

/// Marsaglia's xorshift with 64 bits of state (Journal of Statistical Software 8(14), 2003).
pub(super) struct Dice(u64);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// A number below `limit`; 0 for a limit of 0.
    pub fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        // The remainder is below `limit`, so it fits.
        if limit == 0 { 0 } else { ((self.0 >> 11) % limit as u64) as usize }
    }
}
