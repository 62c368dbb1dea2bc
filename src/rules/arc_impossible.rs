//! An arc whose start, end, centre or radius do not go together.
//!
//! ## Why it matters
//! The control stops, or bends the path to make them fit. Centre arcs may differ in radius by 0.002 mm or 0.0002 in by
//! the letter of NISTIR 6556, section 3.5.3; the shop dialect allows more before it is an error.
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
//! G2 X10 Y0 R1 (!)
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
//! G2 X0 Y0 R20
//! G0 Z50
//! M30
//! ```

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "arc-impossible",
    severity: Severity::Error,
    summary: "an arc that cannot be",
    checks: &[Check::Reading],
};
