//! The part was measured thinner or thicker than the laminate's tolerance allows.
//!
//! ## Why it matters
//! Depths, slow zones and clearances are judged by the thickness measured, so all of them may be right; the part is not.
//! Whether it may be used at all is for those to say who answer for the tolerance. Common practice, no source.
//!
//! ## Fires on
//! The plate is 6 mm thick, 3 % either way.
//! ```nc,plate,thickness-6.3mm
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! M30
//! ```
//!
//! ## Quiet on
//! ```nc,plate,thickness-6.1mm
//! G21 G90 G94 G17 G40 G49 G80 G98
//! G54
//! T6 M6
//! S6366 M3 M7
//! G0 G43 H6 X20 Y20 Z5
//! M30
//! ```

use super::{Check, Context, Report, Rule};
use crate::diagnostic::Severity;
use crate::job::{MeasuredOf, MeasuredValue};
use crate::operation::Survey;
use crate::units::Millimetres;

/// The rule.
pub static RULE: Rule = Rule {
    name: "part-outside-tolerance",
    severity: Severity::Warning,
    summary: "the part measures outside its tolerance",
    checks: &[Check::Program(check)],
};

fn check(_: &Survey, cx: &mut Context<'_>) {
    let values = cx.job.and_then(|job| job.measured.as_ref()).map_or(&[][..], |measured| &measured.values);
    for value in values {
        if let Some(end) = value.beyond() {
            report(value, end, cx);
        }
    }
}

fn report(value: &MeasuredValue, end: Millimetres, cx: &mut Context<'_>) {
    let MeasuredOf::Thickness { laminate, span: (thin, thick) } = &value.of else { return };
    let [is, thin, thick] = [Millimetres(value.value), *thin, *thick].map(|length| cx.units.length(length));
    let message = format!("{laminate} measures {is}, its tolerance allows {thin} to {thick}");
    let report = Report::on_job(format!("laminate {laminate}"), message)
        .measured(value.value, "mm")
        .limit(end.0, "mm", format!("job file: laminate.{laminate}, thickness and tolerance"))
        .advice("do not start before somebody who may has accepted the part");
    cx.report(report);
}
