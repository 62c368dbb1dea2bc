//! A program that calls itself, directly or through others.
//!
//! ## Why it matters
//! The control runs until its nesting limit and stops in mid-cut.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! M98 P4711
//! M30
//! O4711
//! M98 P4711 (!)
//! M99
//! ```
//!
//! ## Quiet on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! M98 P4711
//! M30
//! O4711
//! G0 Z50
//! M99
//! ```

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "subprogram-recursive",
    severity: Severity::Error,
    summary: "a program that calls itself",
    checks: &[Check::Reading],
};
