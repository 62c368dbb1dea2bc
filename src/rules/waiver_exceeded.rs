//! A waiver's bound is passed: the program departs further than was accepted.
//!
//! ## Why it matters
//! A waiver accepts a number, not a kind of fault.
//!
//! ## Fires on
//! ```nc,waived_exceeded
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,waived
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "waiver-exceeded",
    severity: Severity::Warning,
    summary: "a waiver whose bound is passed",
    checks: &[Check::Reading],
};
