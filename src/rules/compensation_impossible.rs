//! Cutter radius compensation where it cannot be, or a contour the tool does not fit into.
//!
//! ## Why it matters
//! The control alarms or gouges. Method and conditions of NISTIR 6556, section 3.5.10 and appendix B.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X-20 Y-20 Z5
//! G4 P2
//! G1 Z-7 F800
//! G18
//! G42 D12 X0 (!)
//! G17 G40
//! G0 Z50
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T12 M6
//! S8000 M3 M7
//! G0 G43 H12 X-20 Y-20 Z5
//! G4 P2
//! G1 Z-7 F800
//! G42 D12 X0 Y0
//! Y50
//! G40
//! G0 Z50
//! M30
//! ```
//!
//! ## Remedy
//! Where the first compensated move is too short, puts compensation on at the rapid before it, if that is long enough and
//! nothing else comes of it. None for the other cases.

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "compensation-impossible",
    severity: Severity::Error,
    summary: "radius compensation that cannot be",
    checks: &[Check::Reading],
};
