//! The words of each fault.

use super::fault::number;
use super::{CompensationFault, FaultKind, Plane};
use crate::syntax::ControlKind;

/// What is wrong, in words.
pub(super) fn message(kind: FaultKind) -> String {
    use FaultKind as F;
    match kind {
        F::Text(kind) => kind.message().to_owned(),
        F::Value(error) => error.to_string(),
        F::UnknownCode(letter, value) => format!("{letter}{} is not a code of this dialect", number(value)),
        F::UnknownWord(letter) => format!("the letter {letter} has no meaning in this dialect"),
        F::UnknownValue(letter) => format!("the value of {letter} depends on the machine's state and is not known"),
        F::Repeated(letter) => format!("{letter} stands twice in one block"),
        F::SameGroup(first, second) => format!("{first} and {second} are of one modal group and stand in one block"),
        F::TwoAxisCodes(first, second) => format!("{first} and {second} both claim the axis words of the block"),
        F::TooManyM => "more than 4 M codes in one block".to_owned(),
        F::Negative(letter, value) => format!("{letter}{} is negative, least is 0", number(value)),
        F::NotWhole(letter, value) => format!("{letter}{} is not a whole number", number(value)),
        F::TooLarge(letter, value, most) => format!("{letter}{} is beyond the largest number, {most}", number(value)),
        F::NoPeckIncrement(value) => format!("peck increment Q{} is not above 0", number(value)),
        F::Unused(letter, user) => format!("{letter} stands without {user} and does nothing"),
        F::NoAxis(letter) => format!("the machine has no {letter} axis"),
        F::MotionWithoutAxis(code) => format!("{code} without an axis word"),
        F::AxisWithoutMotion => "axis word while no motion code is active".to_owned(),
        F::AxisWithCancel => "axis word together with G80".to_owned(),
        F::CodeWithoutAxis(code) => format!("{code} without an axis word"),
        F::DwellWithoutTime => "G4 without a time".to_owned(),
        F::DataNotWorkOffset => "G10 sets something other than a work offset, which is not followed".to_owned(),
        F::DataNumber(value) if value.is_nan() => "no P word names a work offset, expected P1 to P9".to_owned(),
        F::DataNumber(value) => format!("P{} names no work offset, expected a whole number 1 to 9", number(value)),
        F::LengthWithoutH => "G43 without H: which length offset applies is not said".to_owned(),
        F::MachineNeedsLine => "G53 without G0 or G1".to_owned(),
        F::MachineIncremental => "G53 while G91 is active".to_owned(),
        F::Compensated(code) => format!("{code} while cutter radius compensation is on"),
        F::NotFollowed(kind) => format!("{} is not followed; what comes after it is in doubt", statement(kind)),
        F::CodeNotFollowed(code) => format!("{code} changes what positions mean and is not followed"),
        F::NoFeed => "feed move without a feed, F is 0 or was never given".to_owned(),
        F::NoInverseFeed => "feed move under G93 without an F of its own".to_owned(),
        F::PercentOpen => "a percent sign opens the program and none closes it".to_owned(),
        F::NoEnd => "the program ends without M2, M30 or a closing percent sign".to_owned(),
        F::Undeclared(key) => format!("`{key}` is not given"),
        F::ArcWithoutCentre => "arc without R, I, J or K".to_owned(),
        F::ArcMixed => "arc with R and with I, J or K".to_owned(),
        F::ArcLetter(letter, plane) => format!("{letter} has no meaning for an arc in the {} plane", name(plane)),
        F::ArcWithoutEnd(plane) => format!("arc without an end point in the {} plane", name(plane)),
        F::ArcOutOfReach(half, radius) => {
            format!("half the distance to the end is {}, the radius only {}", number(half), number(radius))
        }
        F::ArcSamePoint => "arc by radius that ends where it starts".to_owned(),
        F::ArcRadii(start, end) | F::ArcUneven(start, end) => format!(
            "the end of the arc lies {} from its centre, the start {}: a difference of {}",
            number(end),
            number(start),
            number((end - start).abs())
        ),
        F::ArcZeroRadius => "arc of radius 0".to_owned(),
        F::ArcStartUnknown => "arc from a place that is not known".to_owned(),
        F::ArcStartMissing(number) => format!("program {number} is missing"),
        F::CompensationPlane => "cutter radius compensation outside the XY plane".to_owned(),
        F::CompensationOn => "cutter radius compensation is on already".to_owned(),
        F::CompensationUnknown(d) => {
            format!("the radius for D{d} is not known; the programmed path is taken as the path of the tool")
        }
        F::Compensation(fault) => compensation(fault).to_owned(),
        F::CycleWithoutR(code) => format!("{code} without R, and none kept from an earlier block"),
        F::CycleWithoutDepth(code, axis) => format!("{code} without {axis}, and none kept from an earlier block"),
        F::CycleUpsideDown(r, bottom) => format!("R {} lies below the bottom {}", number(r), number(bottom)),
        F::ZeroRepeat => "0 repeats of a cycle, least is 1".to_owned(),
        F::CycleWithout(code, letter) => format!("{code} without {letter}, and none kept from an earlier block"),
        F::CycleRotary => "rotary word in a cycle block".to_owned(),
        F::CycleCompensated(code) => format!("{code} while cutter radius compensation is on"),
        F::CycleInverse => "cycle while G93 inverse time is active".to_owned(),
        F::CycleSpindle(code) => format!("{code} while the spindle does not turn as it needs"),
        F::CycleStartUnknown => "the cycle's depths count from a height that is not known here".to_owned(),
        F::Probe(why) => format!("probing move {why}"),
        F::ProbeNear => "probing move shorter than 0.254 mm (0.01 in)".to_owned(),
        F::CallWithoutNumber => "call without P".to_owned(),
        F::CallMissing(number) => {
            format!("program {number} is neither in this file nor beside it; position and modes are in doubt after it")
        }
        F::CallRecursive(number) => format!("program {number} calls itself"),
        F::CallTooDeep(most) => format!("more than {most} subprograms inside each other"),
        F::CallTooLong => "more repetitions than are followed".to_owned(),
    }
}

fn compensation(fault: CompensationFault) -> &'static str {
    match fault {
        CompensationFault::ConcaveCorner => "the tool does not fit into this inside corner",
        CompensationFault::Gouging => {
            "the first compensated move is shorter than the tool radius and cuts into the contour"
        }
        CompensationFault::ToolTooLarge => "inside arc of a radius not above that of the tool",
        CompensationFault::EntryArcTooSmall => "the first compensated arc is too small to reach its end",
        CompensationFault::EntryArcUneven => "the ends of the first compensated arc lie at different radii",
    }
}

fn statement(kind: ControlKind) -> &'static str {
    match kind {
        ControlKind::If => "IF",
        ControlKind::While => "WHILE",
        ControlKind::End => "END",
        ControlKind::Goto => "GOTO",
        ControlKind::OWord => "an O-word statement",
        ControlKind::Foreign => "a statement of another language",
    }
}

fn name(plane: Plane) -> &'static str {
    match plane {
        Plane::Xy => "XY",
        Plane::Zx => "XZ",
        Plane::Yz => "YZ",
    }
}
