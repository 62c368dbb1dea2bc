//! A waiver's last day has passed; the findings it covered stand again.
//!
//! ## Why it matters
//! An accepted departure holds for the parts and the time it was accepted for. The last day itself still counts. The
//! day is `job.date`, or the one given to the command.
//!
//! ## Fires on
//! ```nc,waived_expired
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
    name: "waiver-expired",
    severity: Severity::Warning,
    summary: "a waiver past its last day",
    checks: &[Check::Reading],
};
