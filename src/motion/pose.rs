//! Where the tool is, in program coordinates, and which of that is known.

/// A set of the six axes X Y Z A B C.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Axes(pub u8);

impl Axes {
    /// All six.
    pub const ALL: Self = Self(0b11_1111);
    /// X, Y and Z.
    pub const XYZ: Self = Self(0b00_0111);

    /// Whether axis `index` (X 0 to C 5) is in the set.
    #[must_use]
    pub fn has(self, index: usize) -> bool {
        self.0 & (1 << index) != 0
    }

    /// Whether all of `other` is in the set.
    #[must_use]
    pub fn contains(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }

    /// The set with axis `index` added.
    #[must_use]
    pub fn with(self, index: usize) -> Self {
        Self(self.0 | 1 << index)
    }
}

/// Position of the controlled point in program coordinates: mm for X Y Z, degrees for A B C.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pose {
    /// X Y Z, mm.
    pub xyz: [f64; 3],
    /// A B C, degrees.
    pub abc: [f64; 3],
    /// Axes whose value is known; others hold a stale number that must not be used.
    pub known: Axes,
}

impl Pose {
    /// X, Y and Z when all three are known.
    #[must_use]
    pub fn point(&self) -> Option<[f64; 3]> {
        self.known.contains(Axes::XYZ).then_some(self.xyz)
    }
}

impl Axes {
    /// The set without axis `index`.
    #[must_use]
    pub fn without(self, index: usize) -> Self {
        Self(self.0 & !(1 << index))
    }
}

impl Pose {
    /// One axis by its index, X 0 to C 5, when it is known.
    #[must_use]
    pub fn axis(&self, index: usize) -> Option<f64> {
        let value = if index < 3 { self.xyz.get(index) } else { self.abc.get(index - 3) };
        value.copied().filter(|_| self.known.has(index))
    }

    /// The number kept for an axis.
    pub(super) fn axis_mut(&mut self, index: usize) -> Option<&mut f64> {
        if index < 3 { self.xyz.get_mut(index) } else { self.abc.get_mut(index - 3) }
    }

    /// Takes a value that is now known.
    pub(super) fn state(&mut self, index: usize, value: f64) {
        if let Some(slot) = self.axis_mut(index) {
            *slot = value;
            self.known = self.known.with(index);
        }
    }
}
