//! G and M codes: the table of `grammar/codes.toml`, and what a code makes the machine do.

use super::{CutterSide, CycleCode, Distance, FeedMode, MotionMode, PathMode, Plane, ReturnLevel, SpindleSense};
use crate::units::UnitSystem;

/// One row of the code table.
#[derive(Clone, Debug, PartialEq)]
pub struct Code {
    /// As a program writes it.
    pub name: &'static str,
    /// Modal group.
    pub group: Group,
    /// What it does.
    pub action: Action,
    /// Bits of the dialects that know it.
    pub dialects: u8,
    /// Published source.
    pub source: &'static str,
    /// In words.
    pub meaning: &'static str,
}

/// Modal groups; a block may hold one code of a group, and any number of `Other`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Group {
    /// 1: motion and canned cycles.
    Motion,
    /// 2: plane.
    Plane,
    /// 3: distance.
    Distance,
    /// Arc centres.
    ArcCentre,
    /// 5: feed mode.
    FeedMode,
    /// Meaning of S.
    SpeedMode,
    /// 6: units.
    Units,
    /// 7: cutter radius compensation.
    Cutter,
    /// 8: tool length offset.
    LengthOffset,
    /// 10: return level.
    ReturnLevel,
    /// 12: work offset.
    WorkOffset,
    /// 13: path control.
    Path,
    /// 0: one block only.
    NonModal,
    /// M 4: stops.
    Stop,
    /// M 6: tool change.
    ToolChange,
    /// M 7: spindle.
    Spindle,
    /// M 8: coolant.
    Coolant,
    /// M 9: overrides.
    Overrides,
    /// Subprogram calls and returns.
    Call,
    /// No group.
    Other,
}

/// What a code makes the machine do.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Action {
    /// Motion mode, cycles and G80 included.
    Motion(MotionMode),
    /// Plane of arcs and cycles.
    Plane(Plane),
    /// Absolute or incremental positions.
    Distance(Distance),
    /// Absolute or incremental arc centres.
    ArcCentre(Distance),
    /// Meaning of F.
    FeedMode(FeedMode),
    /// Whether S is a surface speed.
    SurfaceSpeed(bool),
    /// Units of length.
    Units(UnitSystem),
    /// Cutter radius compensation.
    Cutter(CutterSide),
    /// Length offset on.
    LengthOn,
    /// Length offset off.
    LengthOff,
    /// Return level of cycles.
    ReturnLevel(ReturnLevel),
    /// Work offset 1 to 9.
    WorkOffset(u8),
    /// Work offset beyond those, by its P word.
    FurtherOffset,
    /// Path control.
    Path(PathMode),
    /// Dwell.
    Dwell,
    /// Offsets set by program.
    SetData,
    /// Home 0 (G28) or 1 (G30).
    Home(u8),
    /// Machine coordinates for this block.
    MachineCoordinates,
    /// Local shift of the work offset.
    LocalShift,
    /// The G92 family.
    AxisOffset(AxisOffset),
    /// A stop, by its M number.
    Stop(u8),
    /// Tool change.
    ToolChange,
    /// Spindle.
    Spindle(SpindleSense),
    /// Coolant.
    Coolant(Coolant),
    /// Whether overrides are allowed.
    Overrides(bool),
    /// Subprogram call.
    Call(Callee),
    /// Return from a subprogram.
    Return,
    /// Nothing that concerns a path.
    Nothing,
    /// Recognised, and not followed.
    NotFollowed,
}

/// The G92 family.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AxisOffset {
    /// G92.
    Set,
    /// G92.1.
    Forget,
    /// G92.2.
    Suspend,
    /// G92.3.
    Restore,
}

/// Coolant codes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coolant {
    /// M7.
    Mist,
    /// M8.
    Flood,
    /// M9.
    Off,
}

/// What a call goes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Callee {
    /// M98: a program by its number.
    Program,
    /// M97: a block of this program by its N number.
    Line,
}

impl Code {
    /// The row for `letter` (G or M) and the code's number, if the dialect with that bit knows one. A number within
    /// 0.0001 of a code is taken as it (NISTIR 6556, section 3.3.2.1).
    #[must_use]
    pub fn find(letter: u8, number: f64, dialect: u8) -> Option<&'static Self> {
        let tenths = number * 10.0;
        let whole = libm::round(tenths);
        if (tenths - whole).abs() > 0.001 || whole < 0.0 {
            return None;
        }
        let index = if letter == b'G' { &G_INDEX } else { &M_INDEX };
        let row = *index.get(whole as usize)?;
        CODES.get(row as usize).filter(|code| code.dialects & dialect != 0)
    }

    /// Whether it is G80.
    pub(super) fn is_cancel(&self) -> bool {
        self.action == Action::Motion(MotionMode::None)
    }

    /// All rows.
    #[must_use]
    pub fn all() -> &'static [Self] {
        CODES
    }
}

include!(concat!(env!("OUT_DIR"), "/codes.rs"));

#[cfg(test)]
mod tests {
    use super::*;
    use crate::motion::Dialect;

    #[test]
    fn every_row_is_found_under_its_own_number() {
        for code in Code::all() {
            let (letter, number) = code.name.split_at(1);
            let found = Code::find(letter.as_bytes()[0], number.parse().unwrap(), u8::MAX).unwrap();
            assert_eq!(found.name, code.name);
        }
    }

    #[test]
    fn a_dialect_knows_only_its_own_codes() {
        let strict = Dialect::named("rs274-ngc").unwrap();
        assert!(Code::find(b'G', 83.0, strict.bit).is_some());
        assert!(Code::find(b'G', 73.0, strict.bit).is_none());
        assert!(Code::find(b'G', 73.0, Dialect::shop().bit).is_some());
        assert!(Code::find(b'G', 100.0, Dialect::shop().bit).is_none());
        assert!(Code::find(b'G', 1.05, Dialect::shop().bit).is_none());
    }
}
