//! What to do about each fault.

use super::FaultKind;
use crate::syntax::SyntaxFaultKind;

impl FaultKind {
    /// What to do about it; `None` where the message says it all.
    #[must_use]
    pub fn advice(self) -> Option<&'static str> {
        use FaultKind as F;
        Some(match self {
            F::Text(SyntaxFaultKind::NamedParameter) => {
                "write the value in its place, or check by hand what the machine has"
            }
            F::Text(SyntaxFaultKind::CornerWord) => "post the corner as moves of its own",
            F::Text(SyntaxFaultKind::SkipRest) => "put the slash at the start of a block of its own",
            F::Text(SyntaxFaultKind::LineUnreadable) => "split the line; what follows it is in doubt",
            F::Text(_) => "correct the text; the rest of the block was read without it",
            F::Value(_) => "correct the expression",
            F::UnknownValue(_) => "state the value in the program, or check by hand what the machine supplies here",
            F::UnknownCode('M', _) => "name the code under `machine.known_codes` if the machine has it",
            F::UnknownCode(..) => {
                "check what the control makes of it; positions after it are in doubt until stated again"
            }
            F::UnknownWord(_) | F::Unused(..) => "take the word out, or add the code it belongs to",
            F::Repeated(_) | F::SameGroup(..) | F::TwoAxisCodes(..) | F::TooManyM => "split the block in two",
            F::NoAxis(_) => "take the word out or post for the machine that has the axis",
            F::MotionWithoutAxis(_) | F::CodeWithoutAxis(_) => "add the axis word, or take the code out",
            F::AxisWithoutMotion | F::AxisWithCancel => "write G0 or G1 in the block",
            F::DwellWithoutTime => "add P",
            F::DataNotWorkOffset | F::DataNumber(_) => "set offsets at the machine, or check this block by hand",
            F::LengthWithoutH => "add H with the number of the tool",
            F::MachineNeedsLine => "write G0 in the block",
            F::MachineIncremental => "write G90 before it",
            F::Compensated(_) | F::CycleCompensated(_) | F::CompensationPlane | F::CompensationOn => {
                "write G40 before this block"
            }
            F::CompensationUnknown(_) => "give the tool under that number in the job file",
            F::Compensation(_) => "lengthen the lead-in, or use a smaller tool",
            F::NoFeed | F::NoInverseFeed => "add F",
            F::ArcUneven(..) | F::ArcRadii(..) | F::ArcOutOfReach(..) => "post the arc again with more decimals",
            F::ArcWithoutCentre
            | F::ArcMixed
            | F::ArcLetter(..)
            | F::ArcWithoutEnd(_)
            | F::ArcSamePoint
            | F::ArcZeroRadius => "give the end point, and either R or the centre in the arc's plane",
            F::ArcStartUnknown => "state the start position before the arc",
            F::CycleWithoutR(_) | F::CycleWithoutDepth(..) | F::CycleWithout(..) => {
                "state the word in the first cycle block"
            }
            F::CycleUpsideDown(..) => "raise R above the hole, or correct the depth",
            F::CycleStartUnknown => "state the height before the cycle, or write the cycle under G90",
            F::CycleInverse => "write G94 or G95 before the cycle",
            F::CycleRotary => "turn the axis in a block of its own before the cycle",
            F::CycleSpindle(_) => "start the spindle before the cycle",
            F::NoEnd | F::PercentOpen => "end the program with M30",
            F::NotFollowed(_) | F::CodeNotFollowed(_) => {
                "post without it to have the rest checked, or check by hand what follows it"
            }
            F::CallMissing(_) | F::ArcStartMissing(_) => "put the program beside this one under its number",
            F::CallRecursive(_) | F::CallTooDeep(_) | F::CallTooLong => "write the calls without this nesting",
            F::CallWithoutNumber => "add P with the number of the program",
            F::Undeclared(_) => "declare it in the job file",
            F::Negative(..)
            | F::NotWhole(..)
            | F::TooLarge(..)
            | F::NoPeckIncrement(_)
            | F::ZeroRepeat
            | F::Probe(_)
            | F::ProbeNear => return None,
        })
    }
}
