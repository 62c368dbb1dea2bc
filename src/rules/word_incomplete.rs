//! A code without the words it needs.
//!
//! ## Why it matters
//! An arc without a centre, a cycle without a depth or a dwell without a time is not carried out, or carried out with
//! what was left over. Conditions of NISTIR 6556, section 3.5.
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
//! G2 X30 Y30 F300 (!)
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
//! G81 Z-8.5 R2 F318
//! G80
//! M30
//! ```

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "word-incomplete",
    severity: Severity::Error,
    summary: "a code without the words it needs",
    checks: &[Check::Reading],
};
