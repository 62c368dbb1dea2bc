//! A rapid runs inside material: not in the air, not in a hole already drilled that deep.
//!
//! ## Why it matters
//! It tears the walls and breaks the tool. Rapids of cycles down to a depth already drilled are fine.
//!
//! ## Fires on
//! ```nc,plate
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! G4 P2
//! G0 Z-3 (!)
//! G1 Z-8.5 F150
//! G0 Z5
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
//! G0 Z1
//! G1 Z-8.5 F150
//! G0 Z5
//! G0 Z-8
//! G0 Z5
//! M30
//! ```

use super::{Aim, Check, Context, Meets, Report, Rule, StepView, missing};
use crate::diagnostic::Severity;
use crate::motion::CyclePart;
use crate::operation::Contact;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "rapid-in-material",
    severity: Severity::Error,
    summary: "a rapid inside material",
    checks: &[Check::Rapid(Meets::Material, check), Check::Program(missing::job), Check::Program(missing::tool)],
};

fn check(view: &StepView<'_>, cx: &mut Context<'_>) {
    let (step, contact) = (view.step, view.contact);
    // A cycle's approach into material is the business of `retract-below-face`.
    if contact != Contact::Material || step.part == Some(CyclePart::Approach) {
        return;
    }
    let [_, _, z] = step.to.xyz;
    let message = format!("rapid to {} runs inside material", cx.units.coordinate('Z', Millimetres(z)));
    cx.report(Report::new(Aim::Block(step.block), message).advice("feed there, or retract above the face first"));
}
