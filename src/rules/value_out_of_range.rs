//! A value that is negative, fractional, too large or without a result where the language allows none.
//!
//! ## Why it matters
//! Conditions of NISTIR 6556, sections 3.3.2 and 3.5: an interpreter must signal them.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G0 X[1/0] (!)
//! G81 Z-8.5 R2 F318
//! G80
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
//! G0 X[40/2]
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "value-out-of-range",
    severity: Severity::Error,
    summary: "a value the language does not allow",
    checks: &[Check::Reading],
};
