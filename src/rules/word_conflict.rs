//! Words of one block that exclude each other: the same letter twice, two codes of one modal group, two codes that want
//! the same axis words, a word without the code that uses it.
//!
//! ## Why it matters
//! Controls differ in which of the two they follow. Conditions of NISTIR 6556, sections 3.3.5 and 3.4.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G0 G1 X25 F300 (!)
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
    name: "word-conflict",
    severity: Severity::Error,
    summary: "words of one block that exclude each other",
    checks: &[Check::Reading],
};
