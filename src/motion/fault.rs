//! Conditions that stop a block from running or leave a doubt, each with its text and the rule it is reported under.
//!
//! The conditions are those an interpreter must signal (NISTIR 6556, sections 3 and 3.5, and its list of errors) and
//! those of the dialects. In the strict language every one of them stops its block; elsewhere most blocks go on.

use super::{CompensationFault, Plane};
use crate::diagnostic::Severity;
use crate::syntax::{ControlKind, EvalError, SyntaxFaultKind};
use crate::units::trimmed;

/// One condition.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FaultKind {
    /// The reader's own.
    Text(SyntaxFaultKind),
    /// Arithmetic that has no result.
    Value(EvalError),
    /// A value that depends on something only the machine knows.
    UnknownValue(char),
    /// A code that no table row names.
    UnknownCode(char, f64),
    /// A letter without a meaning here.
    UnknownWord(char),
    /// The same letter twice.
    Repeated(char),
    /// Two codes of one modal group.
    SameGroup(&'static str, &'static str),
    /// Two codes that both use the axis words.
    TwoAxisCodes(&'static str, &'static str),
    /// More than four M codes.
    TooManyM,
    /// A negative value where none may be.
    Negative(char, f64),
    /// A fraction where a whole number must be.
    NotWhole(char, f64),
    /// A number beyond the table.
    TooLarge(char, f64, u32),
    /// A peck increment of nothing.
    NoPeckIncrement(f64),
    /// A word that nothing in its block uses; holds what would.
    Unused(char, &'static str),
    /// An axis this machine has not.
    NoAxis(char),
    /// A motion code without an axis word.
    MotionWithoutAxis(&'static str),
    /// An axis word without a motion code.
    AxisWithoutMotion,
    /// An axis word with G80.
    AxisWithCancel,
    /// A code without an axis word it needs.
    CodeWithoutAxis(&'static str),
    /// G4 without its time.
    DwellWithoutTime,
    /// G10 that sets something other than work offsets.
    DataNotWorkOffset,
    /// G10 L2 with a P that names no work offset.
    DataNumber(f64),
    /// G43 without H.
    LengthWithoutH,
    /// G53 without G0 or G1.
    MachineNeedsLine,
    /// G53 under G91.
    MachineIncremental,
    /// A code that may not stand while cutter radius compensation is on.
    Compensated(&'static str),
    /// G41 or G42 outside the XY plane.
    CompensationPlane,
    /// G41 or G42 while on.
    CompensationOn,
    /// Compensation by an unknown tool radius.
    CompensationUnknown(u32),
    /// A path the tool cannot follow.
    Compensation(CompensationFault),
    /// A feed move without a feed.
    NoFeed,
    /// A feed move under G93 without its own F.
    NoInverseFeed,
    /// An arc without R, I, J, K.
    ArcWithoutCentre,
    /// R together with I, J, K.
    ArcMixed,
    /// An offset letter of another plane.
    ArcLetter(char, Plane),
    /// An arc without an end in its plane.
    ArcWithoutEnd(Plane),
    /// Radius too small for the chord: half chord and radius, program units.
    ArcOutOfReach(f64, f64),
    /// Radius format with end at start.
    ArcSamePoint,
    /// Radii at start and end that differ too much, program units.
    ArcRadii(f64, f64),
    /// Radii that differ, though less, program units.
    ArcUneven(f64, f64),
    /// Centre at the start.
    ArcZeroRadius,
    /// An arc from an unknown place.
    ArcStartUnknown,
    /// An arc whose start hangs on a program that is not there.
    ArcStartMissing(u32),
    /// A cycle without R.
    CycleWithoutR(&'static str),
    /// A cycle without depth, and the letter it stands under.
    CycleWithoutDepth(&'static str, char),
    /// R below the bottom, program units.
    CycleUpsideDown(f64, f64),
    /// Zero repeats.
    ZeroRepeat,
    /// A cycle without a word it needs.
    CycleWithout(&'static str, char),
    /// A rotary word in a cycle.
    CycleRotary,
    /// A cycle under inverse time.
    CycleInverse,
    /// A cycle with cutter radius compensation on.
    CycleCompensated(&'static str),
    /// A cycle that needs the spindle.
    CycleSpindle(&'static str),
    /// Depths that count from an unknown height.
    CycleStartUnknown,
    /// Probing with rotary words, under G93, or with compensation on.
    Probe(&'static str),
    /// Probing too near the start.
    ProbeNear,
    /// An opening percent sign without a closing one.
    PercentOpen,
    /// No end of program.
    NoEnd,
    /// A statement that is not followed.
    NotFollowed(ControlKind),
    /// A code that is not followed.
    CodeNotFollowed(&'static str),
    /// A call without a number.
    CallWithoutNumber,
    /// A call of a program that is not there.
    CallMissing(u32),
    /// A call back into a running program.
    CallRecursive(u32),
    /// Calls too deep.
    CallTooDeep(u32),
    /// More repetitions than a run follows.
    CallTooLong,
    /// A fact of the control that only the job file can tell; holds the key.
    Undeclared(&'static str),
}

/// Whether the block it stands in is left undone.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stops {
    Always,
    /// Only in the language of NISTIR 6556.
    WhenStrict,
    Never,
}

/// What a condition comes to: the rule it is reported under, its gravity outside the strict language, and its block.
struct Standing(&'static str, Severity, Stops);

impl FaultKind {
    fn standing(self) -> Standing {
        use FaultKind as F;
        use Severity::{Error, Note, Warning};
        use Stops::{Always, Never, WhenStrict};
        match self {
            F::Text(kind) => Standing(kind.rule(), Error, WhenStrict),
            F::UnknownCode(..) | F::UnknownWord(_) => Standing("word-not-understood", Error, WhenStrict),
            F::NoAxis(_) => Standing("word-not-understood", Error, Always),
            F::Repeated(_)
            | F::SameGroup(..)
            | F::TwoAxisCodes(..)
            | F::TooManyM
            | F::AxisWithCancel
            | F::ArcMixed
            | F::ArcLetter(..)
            | F::MachineIncremental
            | F::Probe(_) => Standing("word-conflict", Error, Always),
            F::AxisWithoutMotion | F::CycleRotary | F::Compensated(_) => Standing("word-conflict", Warning, WhenStrict),
            F::CycleInverse | F::CycleCompensated(_) => Standing("word-conflict", Warning, Never),
            F::Unused(..) => Standing("word-conflict", Note, WhenStrict),
            F::Value(_)
            | F::Negative(..)
            | F::NotWhole(..)
            | F::TooLarge(..)
            | F::DataNumber(_)
            | F::CycleUpsideDown(..)
            | F::ZeroRepeat
            | F::ProbeNear => Standing("value-out-of-range", Error, Always),
            F::NoPeckIncrement(_) => Standing("value-out-of-range", Warning, WhenStrict),
            F::MotionWithoutAxis(_)
            | F::CodeWithoutAxis(_)
            | F::DwellWithoutTime
            | F::ArcWithoutCentre
            | F::ArcWithoutEnd(_)
            | F::CycleWithoutR(_)
            | F::CycleWithoutDepth(..)
            | F::CycleWithout(..)
            | F::CycleStartUnknown
            | F::CallWithoutNumber => Standing("word-incomplete", Error, Always),
            F::LengthWithoutH | F::MachineNeedsLine => Standing("word-incomplete", Warning, WhenStrict),
            F::NoFeed | F::NoInverseFeed => Standing("feed-missing", Error, Always),
            F::CycleSpindle(_) => Standing("spindle-off", Error, Always),
            F::ArcOutOfReach(..) | F::ArcSamePoint | F::ArcRadii(..) | F::ArcZeroRadius | F::ArcStartUnknown => {
                Standing("arc-impossible", Error, Always)
            }
            F::ArcStartMissing(_) => Standing("arc-impossible", Note, Always),
            F::ArcUneven(..) => Standing("arc-impossible", Warning, Never),
            F::CompensationPlane | F::CompensationOn | F::Compensation(_) => {
                Standing("compensation-impossible", Error, Always)
            }
            F::CompensationUnknown(_) => Standing("compensation-impossible", Note, Never),
            F::PercentOpen | F::NoEnd => Standing("program-frame", Warning, Always),
            F::UnknownValue(_) | F::NotFollowed(_) => Standing("not-followed", Warning, WhenStrict),
            F::DataNotWorkOffset | F::CodeNotFollowed(_) => Standing("not-followed", Warning, Always),
            F::CallTooLong | F::CallTooDeep(_) => Standing("not-followed", Error, Always),
            F::CallMissing(_) => Standing("subprogram-missing", Warning, Always),
            F::CallRecursive(_) => Standing("subprogram-recursive", Error, Always),
            F::Undeclared(key) => Standing(rule_without(key), Note, Never),
        }
    }

    /// Name of the rule it is reported under; for an undeclared fact, of the rule that could not conclude.
    #[must_use]
    pub fn rule(self) -> &'static str {
        let Standing(rule, ..) = self.standing();
        rule
    }

    /// The job-file key that would settle it, for a fact nobody declared: the check says *not checked* and names it.
    #[must_use]
    pub fn undeclared(self) -> Option<&'static str> {
        if let Self::Undeclared(key) = self { Some(key) } else { None }
    }

    /// The program that is not there, for a fault that only follows from that: the check says *not checked*.
    #[must_use]
    pub fn for_want_of(self) -> Option<u32> {
        if let Self::ArcStartMissing(number) = self { Some(number) } else { None }
    }

    /// How grave it is; `strict` for the language of NISTIR 6556.
    #[must_use]
    pub fn severity(self, strict: bool) -> Severity {
        let Standing(_, severity, _) = self.standing();
        if strict && self.undeclared().is_none() { Severity::Error } else { severity }
    }

    /// Whether the block it stands in is left undone.
    pub(super) fn stops(self, strict: bool) -> bool {
        let Standing(.., stops) = self.standing();
        match stops {
            Stops::Always => true,
            Stops::WhenStrict => strict,
            Stops::Never => false,
        }
    }

    /// A value that could not be had.
    pub(super) fn of_value(letter: char, error: EvalError) -> Self {
        match error {
            EvalError::Unknown(_) => Self::UnknownValue(letter),
            other => Self::Value(other),
        }
    }

    /// Whether the block's words were understood all the same.
    pub(crate) fn is_understood(self) -> bool {
        !matches!(self.rule(), "text-unreadable" | "word-not-understood" | "not-followed")
    }

    /// Whether positions may mean something else after it.
    pub(super) fn changes_frame(self) -> bool {
        match self {
            Self::UnknownCode(letter, _) => letter == 'G',
            Self::Text(kind) => kind.loses_words(),
            _ => false,
        }
    }

    /// What is wrong, in words, with the numbers it is and should be.
    #[must_use]
    pub fn message(self) -> String {
        super::wording::message(self)
    }
}

/// The rule that cannot conclude while a fact of the control is not declared.
fn rule_without(key: &str) -> &'static str {
    match key {
        "machine.dwell_unit" => "dwell-in-hole",
        "machine.feed_memory" => "feed-mode-changed",
        "machine.inverse_time" => "feed-implausible",
        "machine.number_input" => "units-doubtful",
        _ => "peck-retract-wrong",
    }
}

/// A number as messages give it.
pub(super) fn number(value: f64) -> String {
    trimmed(value, 4)
}
