//! Canned cycles as moves: one cycle call at one place becomes the strokes the control makes there.

mod back_bore;
mod bore;
mod drill;
mod facts;
mod path;
mod tap;
#[cfg(test)]
mod tests;

pub use facts::{CycleCode, CycleKind};

use super::{CycleCall, CyclePart, SpindleSense};
use path::Path;

/// What one move of a cycle does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum CycleAction {
    /// Straight at rapid rate.
    Rapid,
    /// Straight at the cycle's feed.
    Line,
    /// Standing still; seconds, `None` when the dwell unit is not declared.
    Dwell(Option<f64>),
    /// The spindle changes to this sense; a stop inside a boring cycle is oriented.
    Spindle(SpindleSense),
    /// The program waits for the operator, as M0.
    Stop,
}

/// One move of a cycle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CycleMove {
    /// What happens.
    pub action: CycleAction,
    /// Where the tool is afterwards: X Y Z in program coordinates, mm.
    pub to: [f64; 3],
    /// Which part of the cycle it is.
    pub part: CyclePart,
}

/// Sends the moves of `call` to `emit` in order, the positioning and the approach to R included.
///
/// Sequences: NISTIR 6556, section 3.5.16; G73, G74 and G76 are not in that report and follow common practice, no source.
/// An undeclared back-off counts as none, a missing peck increment as one stroke.
pub fn expand(call: &CycleCall, emit: &mut impl FnMut(CycleMove)) {
    let mut path = Path::new(call, emit);
    path.preliminary();
    match call.code {
        CycleCode::G81 | CycleCode::G82 => drill::plain(&mut path),
        CycleCode::G73 => drill::chip_break(&mut path),
        CycleCode::G83 => drill::full_retract(&mut path),
        CycleCode::G74 | CycleCode::G84 => tap::tap(&mut path),
        CycleCode::G85 | CycleCode::G89 => bore::feed_out(&mut path),
        CycleCode::G86 => bore::stop_and_rapid_out(&mut path),
        CycleCode::G76 => bore::shift_and_rapid_out(&mut path),
        CycleCode::G88 => bore::manual_out(&mut path),
        CycleCode::G87 => back_bore::back_bore(&mut path),
    }
}
