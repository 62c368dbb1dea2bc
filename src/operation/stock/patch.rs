//! Patches of a cell: where many shapes take a cell together that none takes alone, its patches tell that it is gone.

use super::removed::SAME_HEIGHT;
use super::way::Way;

/// A cell is this many patches wide and high.
pub const WIDE: u16 = 4;
/// All of them.
pub const ALL: u16 = u16::MAX;

/// Patches of one cell, each taken whole by one shape.
#[derive(Clone, Copy, Debug)]
pub struct Patches {
    /// One bit each.
    taken: u16,
    /// Height down to which they are gone.
    z: f32,
}

impl Default for Patches {
    fn default() -> Self {
        Self { taken: 0, z: f32::INFINITY }
    }
}

impl Patches {
    /// Height down to which the cell is gone by its patches.
    pub fn gone(&self) -> f32 {
        if self.taken == ALL { self.z } else { f32::INFINITY }
    }

    /// Patches that are not gone down to a height, one bit each.
    pub fn left(&self, z: f64) -> u16 {
        if f64::from(self.z) <= z + SAME_HEIGHT { !self.taken } else { ALL }
    }

    /// Takes those patches that a way with its tip at `z` takes whole, of a cell `half` a side about `middle`; false when
    /// it touches no patch that was not gone as deep before.
    pub fn take(&mut self, way: &Way, z: f32, middle: [f64; 2], half: f64) -> bool {
        // Patches are of one height: a deeper way begins anew once all are gone, a higher one adds nothing.
        if self.taken == ALL && z < self.z || self.taken == 0 {
            *self = Self { taken: 0, z };
        }
        let adds = z <= self.z;
        let side = 2.0 * half / f64::from(WIDE);
        let about = side * std::f64::consts::FRAC_1_SQRT_2;
        let radius = way.radius();
        let (reach, hold) = ((radius + about) * (radius + about), (radius - about).max(0.0));
        let (mut left, mut touched) = (!self.taken, z < self.z);
        while left != 0 {
            let number = left.trailing_zeros() as u16;
            left &= left - 1;
            let along = |index: u16| (f64::from(index) + 0.5) * side - half;
            let square = way.square([middle[0] + along(number % WIDE), middle[1] + along(number / WIDE)]);
            touched |= square < reach;
            if adds && square < hold * hold {
                self.taken |= 1 << number;
            }
        }
        touched
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::operation::stock::swept::Swept;

    fn taken(patches: &mut Patches, x: f64, z: f64) -> bool {
        let shape = Swept::new([x, -10.0], [x, 10.0], 2.0, z);
        patches.take(&shape.way(), shape.z_single(), [0.0, 0.0], 2.0)
    }

    #[test]
    fn two_halves_make_a_whole() {
        let mut patches = Patches::default();
        assert!(taken(&mut patches, -2.0, -6.0));
        assert_eq!(patches.gone(), f32::INFINITY);
        assert!(!taken(&mut patches, -3.5, -6.0), "nothing new");
        assert!(taken(&mut patches, 1.5, -6.0));
        assert!(taken(&mut patches, 0.0, -6.0));
        assert_eq!(patches.gone(), -6.0);
    }

    #[test]
    fn heights_are_not_mixed() {
        let mut patches = Patches::default();
        for x in [-2.0, 0.0, 2.0] {
            assert!(taken(&mut patches, x, -2.0));
        }
        assert_eq!(patches.gone(), -2.0);
        assert!(taken(&mut patches, 0.0, -4.0), "deeper");
        assert_eq!(patches.gone(), f32::INFINITY);
        assert!(taken(&mut patches, 1.5, -3.0), "higher, where some patch is not gone deeper");
        for x in [-2.0, 2.0] {
            assert!(taken(&mut patches, x, -4.0));
        }
        assert_eq!(patches.gone(), -4.0);
    }
}
