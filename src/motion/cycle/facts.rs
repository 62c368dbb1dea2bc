//! The canned cycles, and what has to be known of each besides its moves: one row a cycle.

use crate::motion::SpindleSense;

/// Canned cycles.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CycleCode {
    /// G73 chip-break drilling.
    G73,
    /// G74 left-hand tapping.
    G74,
    /// G76 fine boring.
    G76,
    /// G81 drilling.
    G81,
    /// G82 drilling with dwell.
    G82,
    /// G83 drilling with full-retract pecks.
    G83,
    /// G84 tapping.
    G84,
    /// G85 boring, feed out.
    G85,
    /// G86 boring, spindle stop, rapid out.
    G86,
    /// G87 back boring.
    G87,
    /// G88 boring, manual out.
    G88,
    /// G89 boring with dwell, feed out.
    G89,
}

/// How a cycle makes its hole.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CycleKind {
    /// One stroke, out by rapid.
    OneStroke,
    /// Pecks that back off a little in the hole.
    ChipBreak,
    /// Pecks that leave the hole.
    FullRetract,
    /// One stroke, out at feed.
    FeedOut,
    /// A thread, cut with the spindle turning this way.
    Tap(SpindleSense),
    /// Boring with the spindle stopped in the hole.
    SpindleStop,
}

impl CycleCode {
    /// As the program writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        self.row().0
    }

    /// How it makes its hole.
    #[must_use]
    pub fn kind(self) -> CycleKind {
        self.row().1
    }

    /// Letters it cannot do without besides R and the depth, in the language of NISTIR 6556 (section 3.5.16).
    #[must_use]
    pub fn needs(self) -> &'static [u8] {
        self.row().2
    }

    /// Whether it pecks.
    #[must_use]
    pub fn pecks(self) -> bool {
        match self.kind() {
            CycleKind::ChipBreak | CycleKind::FullRetract => true,
            CycleKind::OneStroke | CycleKind::FeedOut | CycleKind::Tap(_) | CycleKind::SpindleStop => false,
        }
    }

    /// Whether strokes at feed and pecks are all it does, so that it can be written out move by move.
    #[must_use]
    pub fn drills(self) -> bool {
        match self.kind() {
            CycleKind::OneStroke | CycleKind::ChipBreak | CycleKind::FullRetract | CycleKind::FeedOut => true,
            CycleKind::Tap(_) | CycleKind::SpindleStop => false,
        }
    }

    fn row(self) -> (&'static str, CycleKind, &'static [u8]) {
        match self {
            Self::G73 => ("G73", CycleKind::ChipBreak, b"Q"),
            Self::G74 => ("G74", CycleKind::Tap(SpindleSense::Counterclockwise), b""),
            Self::G76 => ("G76", CycleKind::SpindleStop, b""),
            Self::G81 => ("G81", CycleKind::OneStroke, b""),
            Self::G82 => ("G82", CycleKind::OneStroke, b"P"),
            Self::G83 => ("G83", CycleKind::FullRetract, b"Q"),
            Self::G84 => ("G84", CycleKind::Tap(SpindleSense::Clockwise), b""),
            Self::G85 => ("G85", CycleKind::FeedOut, b""),
            Self::G86 => ("G86", CycleKind::SpindleStop, b"P"),
            Self::G87 => ("G87", CycleKind::SpindleStop, b"IJK"),
            Self::G88 => ("G88", CycleKind::SpindleStop, b"P"),
            Self::G89 => ("G89", CycleKind::FeedOut, b"P"),
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::motion::{Action, Code, MotionMode};

    #[test]
    fn a_cycle_bears_the_name_of_its_row_in_the_code_table() {
        let cycles = Code::all().iter().filter_map(|row| match row.action {
            Action::Motion(MotionMode::Cycle(cycle)) => Some((row.name, cycle.name())),
            _ => None,
        });
        let names: Vec<_> = cycles.collect();
        assert!(names.len() > 11 && names.iter().all(|(row, own)| row == own), "{names:?}");
    }
}
