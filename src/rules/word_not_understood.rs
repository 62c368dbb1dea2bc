//! A word or code that no row of the code table names for this dialect, and that the job file does not declare.
//!
//! ## Why it matters
//! Whatever it does is not in the rebuilt moves. Declare codes of the machine that do nothing to motion under
//! `machine.known_codes`.
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
//! M77 (!)
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
//! M10
//! M30
//! ```

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "word-not-understood",
    severity: Severity::Warning,
    summary: "a code or word without a known meaning",
    checks: &[Check::Reading],
};
