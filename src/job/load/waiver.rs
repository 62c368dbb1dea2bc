//! `[[waiver]]` and `[rules]`.

use super::amount::Amount;
use super::at::At;
use super::reader::Reader;
use crate::diagnostic::Severity;
use crate::job::{Date, Policy, Waiver};
use schemars::JsonSchema;
use serde::Deserialize;

/// An accepted departure.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct WaiverTable {
    /// Number.
    #[schemars(required)]
    id: Option<At<String>>,
    /// Rule it accepts.
    #[schemars(required)]
    rule: Option<String>,
    /// Holes it covers; all when left out.
    holes: Option<Vec<String>>,
    /// Tools it covers; all when left out.
    tools: Option<Vec<u32>>,
    /// The measured value may not pass this, such as `0.045 mm/rev`.
    bound: Option<At<Amount>>,
    /// Why the departure is accepted.
    #[schemars(required)]
    reason: Option<At<String>>,
    /// Who asked.
    raised_by: Option<String>,
    /// Who approved.
    #[schemars(required)]
    approved_by: Option<String>,
    /// When, as year-month-day.
    date: Option<At<String>>,
    /// Last day it holds.
    expires: Option<At<String>>,
    /// Parts or serials it holds for.
    effectivity: Option<String>,
    /// Request or deviation number.
    reference: Option<String>,
}

impl WaiverTable {
    /// Whether it has that number.
    pub fn is(&self, id: &str) -> bool {
        self.id.as_ref().is_some_and(|own| own.value == id)
    }
}

/// What to do with a rule's findings.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub(super) enum PolicyWord {
    /// Report as an error.
    Error,
    /// Report as a warning.
    Warning,
    /// Report as a note.
    Note,
    /// Do not report.
    Allow,
}

impl PolicyWord {
    /// The policy it stands for.
    pub fn policy(self) -> Policy {
        match self {
            Self::Error => Policy::Report(Severity::Error),
            Self::Warning => Policy::Report(Severity::Warning),
            Self::Note => Policy::Report(Severity::Note),
            Self::Allow => Policy::Allow,
        }
    }
}

/// The waiver of a raw table.
pub(super) fn waiver(raw: &WaiverTable, reader: &mut Reader) -> Option<Waiver> {
    if let Some(reason) = raw.reason.as_ref().filter(|reason| reason.value.trim().is_empty()) {
        let help = Some("a waiver without a reason is void; say why the departure is accepted".to_owned());
        reader.error(reason.span, format!("`{}` is empty", reader.key("reason")), help);
    }
    let nobody = raw.approved_by.as_ref().is_some_and(|name| name.trim().is_empty());
    if let Some(id) = raw.id.as_ref().filter(|_| nobody) {
        let help = Some("a waiver holds once somebody entitled to has approved it; name them".to_owned());
        reader.error(id.span, format!("`{}` is empty", reader.key("approved_by")), help);
    }
    let ends = raw.expires.is_some() || raw.effectivity.as_ref().is_some_and(|parts| !parts.trim().is_empty());
    if let Some(id) = raw.id.as_ref().filter(|_| !ends) {
        let help = Some("give `expires`, the last day it holds, or `effectivity`, the parts it holds for".to_owned());
        reader.error(id.span, format!("waiver {} has no end", id.value), help);
    }
    let bound = raw.bound.as_ref();
    if let Some(bound) = bound.filter(|bound| !bound.value.number().is_finite()) {
        let help = Some("write it like \"0.045 mm/rev\"".to_owned());
        reader.error(bound.span, format!("`{}` must be a number with its unit", reader.key("bound")), help);
    }
    let made = date("date", raw.date.as_ref(), reader);
    let expires = date("expires", raw.expires.as_ref(), reader);
    if let (Some(made), Some(expires), Some(raw)) = (made, expires, &raw.expires)
        && expires < made
    {
        reader.error(raw.span, format!("the waiver expires on {expires}, before its date of {made}"), None);
    }
    Some(Waiver {
        id: raw.id.as_ref()?.value.clone(),
        rule: raw.rule.clone()?,
        holes: raw.holes.clone().unwrap_or_default(),
        tools: raw.tools.clone().unwrap_or_default(),
        bound: bound.map(|bound| bound.value.number()),
        bound_unit: bound.map(|bound| bound.value.symbol().to_owned()).unwrap_or_default(),
        reason: raw.reason.as_ref()?.value.clone(),
        raised_by: raw.raised_by.clone().unwrap_or_default(),
        approved_by: raw.approved_by.clone().unwrap_or_default(),
        date: made,
        expires,
        effectivity: raw.effectivity.clone().unwrap_or_default(),
        reference: raw.reference.clone().unwrap_or_default(),
    })
}

/// A calendar day written as year-month-day.
pub(super) fn date(name: &str, raw: Option<&At<String>>, reader: &mut Reader) -> Option<Date> {
    let raw = raw?;
    let read = raw.value.parse().ok();
    if read.is_none() {
        let help = Some("write it like \"2026-11-02\"".to_owned());
        reader.error(raw.span, format!("`{}` is no calendar day: {}", reader.key(name), raw.value), help);
    }
    read
}
