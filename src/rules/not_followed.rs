//! A statement that is recognised but not followed: IF, WHILE, GOTO, G65 and their like.
//!
//! ## Why it matters
//! What it does is not in the rebuilt moves, so everything behind it that depends on position or modes is *not checked*
//! until the program states it again.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! IF [#1 GT 2] GOTO 90 (!)
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
    name: "not-followed",
    severity: Severity::Warning,
    summary: "a statement that is not followed",
    checks: &[Check::Reading],
};
