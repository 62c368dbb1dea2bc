//! Text that is no word, number, comment or expression of the language.
//!
//! ## Why it matters
//! The control may stop on it, skip it or read it as something else. Reading goes on behind it, and the block counts as
//! not understood. Conditions of NISTIR 6556, section 3.3.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G81 Z-8.5 R2 F318 ? (!)
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
//!
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G 81 z - 8.5 R2 F318
//! G80
//! M30
//! ```

use super::{Check, Rule};
use crate::diagnostic::Severity;

/// The rule.
pub static RULE: Rule = Rule {
    name: "text-unreadable",
    severity: Severity::Error,
    summary: "text that cannot be read",
    checks: &[Check::Reading],
};
