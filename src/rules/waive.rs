//! Waivers: places they cover move to findings of their own; unused, expired and exceeded ones are findings.

use super::{ALL, Aim, Ledger, Report, Subject, rule_named};
use crate::diagnostic::{Finding, Place, Status};
use crate::job::{Date, Job, Waiver};
use crate::operation::Drawing;
use crate::source::{SourceId, Span};

/// Why a waiver that matches a finding does not hold.
enum Lapse {
    Expired,
    Exceeded,
}

/// Splits findings by the job's waivers.
#[must_use]
pub fn apply(
    findings: Vec<Finding>,
    job: &Job,
    drawing: &Drawing,
    today: Option<Date>,
) -> (Vec<Finding>, Vec<WaiverUse>) {
    let mut uses: Vec<WaiverUse> = job.waivers.iter().map(|waiver| WaiverUse::new(&waiver.id)).collect();
    let splitter = Splitter { job, drawing, today };
    let mut result = Vec::new();
    for finding in findings {
        splitter.split(finding, &mut uses, &mut result);
    }
    (result, uses)
}

/// What became of one waiver.
#[derive(Clone, Debug, PartialEq)]
pub struct WaiverUse {
    /// Its id.
    pub id: String,
    /// Places it covered.
    pub places: usize,
    /// Places it would have covered had it not expired.
    pub expired: usize,
    /// Places it would have covered had its bound been kept, with the worst value measured there.
    pub exceeded: Option<f64>,
}

impl WaiverUse {
    fn new(id: &str) -> Self {
        Self { id: id.to_owned(), places: 0, expired: 0, exceeded: None }
    }
}

/// What waivers are held against.
struct Splitter<'a> {
    job: &'a Job,
    drawing: &'a Drawing,
    today: Option<Date>,
}

impl Splitter<'_> {
    fn split(&self, mut finding: Finding, uses: &mut [WaiverUse], result: &mut Vec<Finding>) {
        for (waiver, used) in self.job.waivers.iter().zip(uses) {
            if waiver.rule != finding.rule {
                continue;
            }
            let (covered, rest): (Vec<Place>, Vec<Place>) =
                finding.places.drain(..).partition(|place| self.covers(waiver, place));
            finding.places = rest;
            if covered.is_empty() {
                continue;
            }
            match self.lapse(waiver, &finding) {
                None => {
                    used.places += covered.len();
                    let status = Status::Waived(waiver.id.clone());
                    result.push(Finding { places: covered, more_places: 0, status, ..finding.clone() });
                }
                Some(Lapse::Expired) => {
                    used.expired += covered.len();
                    finding.places.extend(covered);
                }
                Some(Lapse::Exceeded) => {
                    let value = finding.measured.as_ref().map_or(0.0, |measured| measured.value);
                    used.exceeded = Some(used.exceeded.map_or(value, |worst| worst.max(value)));
                    finding.places.extend(covered);
                }
            }
        }
        if !finding.places.is_empty() {
            finding.places.sort_by_key(|place| (place.source, place.span));
            result.push(finding);
        }
    }

    fn covers(&self, waiver: &Waiver, place: &Place) -> bool {
        let name = place.hole.and_then(|hole| self.drawing.name(self.job, hole));
        let hole = waiver.holes.is_empty() || name.is_some_and(|name| waiver.holes.iter().any(|hole| hole == name));
        let tool = waiver.tools.is_empty() || place.tool.is_some_and(|tool| waiver.tools.contains(&tool));
        hole && tool
    }

    fn lapse(&self, waiver: &Waiver, finding: &Finding) -> Option<Lapse> {
        if let (Some(expires), Some(today)) = (waiver.expires, self.today)
            && today > expires
        {
            return Some(Lapse::Expired);
        }
        let (Some(bound), Some(measured), Some(limit)) = (waiver.bound, &finding.measured, &finding.limit) else {
            return None;
        };
        let low_is_bad = measured.value < limit.quantity.value;
        let passed = if low_is_bad { measured.value < bound } else { measured.value > bound };
        (passed && (measured.value - bound).abs() > 1e-9 * bound.abs()).then_some(Lapse::Exceeded)
    }
}

/// Reports what became of each waiver, under the waiver rules.
#[must_use]
pub fn verdicts(uses: &[WaiverUse], job: &Job) -> Ledger {
    let mut ledger = Ledger::default();
    for (used, waiver) in uses.iter().zip(&job.waivers) {
        let Some((name, report)) = verdict(used, waiver) else { continue };
        if let Some(rule) = rule_named(name) {
            ledger.report(rule, Subject::default(), report);
        }
    }
    ledger
}

fn verdict(used: &WaiverUse, waiver: &Waiver) -> Option<(&'static str, Report)> {
    let aim = Aim::Exact { source: SourceId(0), span: Span::default() };
    let id = &waiver.id;
    if !ALL.iter().any(|entry| entry.rule.name == waiver.rule) {
        let message = format!("waiver {id} names `{}`, which is no rule", waiver.rule);
        return Some(("waiver-unused", Report::new(aim, message).advice("`lastply rules` lists the rules")));
    }
    if used.expired > 0 {
        let end = waiver.expires.map(|date| date.to_string()).unwrap_or_default();
        let message = format!("waiver {id} for `{}` ended on {end}; {} places stand again", waiver.rule, used.expired);
        return Some(("waiver-expired", Report::new(aim, message).advice("renew it or mend the program")));
    }
    if let (Some(worst), Some(bound)) = (used.exceeded, waiver.bound) {
        let unit = &waiver.bound_unit;
        let message = format!("waiver {id} for `{}` holds to {bound} {unit}, the program has {worst:.4}", waiver.rule);
        return Some(("waiver-exceeded", Report::new(aim, message).advice("ask for a new waiver or mend the program")));
    }
    if used.places == 0 {
        let message = format!("waiver {id} for `{}` covers nothing in this program", waiver.rule);
        return Some(("waiver-unused", Report::new(aim, message).advice("take it out of the job file")));
    }
    None
}
