//! A waiver of the job file covers nothing in this program, or names a rule that does not exist.
//!
//! ## Why it matters
//! A waiver nobody needs hides the next fault of its kind; it should leave the job file together with the reason for
//! it.
//!
//! ## Fires on
//! ```nc,waived_unused
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
    name: "waiver-unused",
    severity: Severity::Warning,
    summary: "a waiver that covers nothing",
    checks: &[Check::Reading],
};
