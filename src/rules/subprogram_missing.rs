//! A call of a program that stands neither in this file nor beside it.
//!
//! ## Why it matters
//! What it does is not in the rebuilt moves; positions and modes after it are in doubt.
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
//! M98 P4711 (!)
//! M30
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
    name: "subprogram-missing",
    severity: Severity::Warning,
    summary: "a called program that is not there",
    checks: &[Check::Reading],
};
