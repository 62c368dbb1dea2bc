//! What the edits of one line may do to the way of the tool. Whatever they may not, must stay.

use crate::diagnostic::Remedy;

/// Leave given to one line's edits. By default the tool goes where it went, and only the values that the new words
/// state may differ: feed, speed and sense, exact stop, coolant, extraction.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Liberty {
    /// Its moves make holes, which are compared hole by hole; sideways the tool goes the same way.
    pub holes: bool,
    /// The tool may rise to this height before it moves on, program mm.
    pub rise: Option<f64>,
    /// Moves that end at the first height may end at the second, program mm.
    pub height: Option<(f64, f64)>,
    /// A way down takes the place of a plunge.
    pub ramp: Option<Ramp>,
    /// A dwell may be missing.
    pub no_dwell: bool,
    /// Units or the side of compensation change, and the way with them.
    pub frame: bool,
    /// The length offset changes, and heights with it.
    pub length: bool,
}

/// A zigzag down between two points, program mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ramp {
    /// Where the plunge stood and the ramp ends.
    pub at: [f64; 2],
    /// Where it turns.
    pub far: [f64; 2],
    /// Where it begins.
    pub top: f64,
}

impl Liberty {
    /// What a remedy that is carried out word by word may do.
    #[must_use]
    pub fn of(remedy: &Remedy) -> Self {
        let mut liberty = Self::default();
        match remedy {
            Remedy::RetractTo(height) => liberty.rise = Some(height.0),
            Remedy::NoDwell => liberty.no_dwell = true,
            Remedy::OtherSide | Remedy::CompensateSooner => liberty.frame = true,
            Remedy::Replace(words) | Remedy::LineBefore(words) => {
                let begins = |letters: &[&str]| words.split(' ').any(|word| letters.contains(&word));
                liberty.frame = begins(&["G20", "G21", "G40", "G41", "G42"]) || words.starts_with('D');
                liberty.length = begins(&["G43"]) || words.starts_with('H');
            }
            _ => {}
        }
        liberty
    }

    /// Leave for moves that make holes.
    #[must_use]
    pub fn of_holes() -> Self {
        Self { holes: true, ..Self::default() }
    }

    /// Adds the leave of another edit on the same line.
    pub fn join(&mut self, other: &Self) {
        self.holes |= other.holes;
        self.no_dwell |= other.no_dwell;
        self.frame |= other.frame;
        self.length |= other.length;
        self.rise = [self.rise, other.rise].into_iter().flatten().reduce(f64::max);
        self.height = self.height.or(other.height);
        self.ramp = self.ramp.or(other.ramp);
    }
}
