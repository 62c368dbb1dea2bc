//! The program's frame is not whole: percent signs unpaired, no end code.
//!
//! ## Why it matters
//! The control may wait for more, or run on into the next program in its memory. NISTIR 6556, section 3.1.
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
//! G80 (!)
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
    name: "program-frame",
    severity: Severity::Warning,
    summary: "percent signs or end code missing",
    checks: &[Check::Reading],
};
