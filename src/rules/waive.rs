//! Waivers: places they cover move to findings of their own; unused, expired and exceeded ones are findings.

use super::{Ledger, Report, Subject, rule_named, suggestion};
use crate::diagnostic::{Finding, Place, Status};
use crate::job::{Date, Job, Waiver};
use crate::operation::Drawing;
use crate::units::UnitSystem;

/// Why a waiver that matches a finding does not hold.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Lapse {
    Expired,
    /// Value measured, bound and their unit.
    Exceeded(f64, f64, &'static str),
    /// What the finding is measured in, which the bound is not.
    Incomparable(&'static str),
}

/// Splits findings by the job's waivers.
#[must_use]
pub fn apply(
    findings: Vec<Finding>,
    job: &Job,
    drawing: &Drawing,
    today: Option<Date>,
) -> (Vec<Finding>, Vec<WaiverUse>) {
    let mut uses: Vec<WaiverUse> = job.waivers.iter().map(|_| WaiverUse::default()).collect();
    let splitter = Splitter { job, drawing, today };
    let mut result = Vec::new();
    for finding in findings {
        splitter.split(finding, &mut uses, &mut result);
    }
    (result, uses)
}

/// What became of one waiver.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WaiverUse {
    /// Places it covered.
    pub places: usize,
    /// Places it would have covered had it not expired.
    pub expired: usize,
    /// The worst value measured where its bound was passed, the bound, and the unit of both.
    pub exceeded: Option<(f64, f64, &'static str)>,
    /// The unit of a finding it cannot be held against.
    pub incomparable: Option<&'static str>,
}

impl WaiverUse {
    fn exceed(&mut self, value: f64, bound: f64, unit: &'static str) {
        let further = |worst: f64| (value - bound).abs() > (worst - bound).abs();
        if self.exceeded.is_none_or(|(worst, ..)| further(worst)) {
            self.exceeded = Some((value, bound, unit));
        }
    }
}

/// How a waiver stands in one program. The first that applies, in this order, is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WaiverState {
    /// It names no rule.
    NoRule,
    /// Its last day is over, and it would cover so many places.
    Expired(usize),
    /// The worst value measured beyond its bound, the bound, and the unit of both.
    Exceeded(f64, f64, &'static str),
    /// Its bound does not measure what the rule measures, in this unit; empty where the rule measures nothing.
    Incomparable(&'static str),
    /// It covers nothing.
    Unused,
    /// It covers places.
    Used,
}

impl WaiverState {
    /// How `waiver` stands by what became of it.
    #[must_use]
    pub fn of(waiver: &Waiver, used: &WaiverUse) -> Self {
        match used {
            _ if rule_named(&waiver.rule).is_none() => Self::NoRule,
            WaiverUse { expired, .. } if *expired > 0 => Self::Expired(*expired),
            WaiverUse { exceeded: Some((worst, bound, unit)), .. } => Self::Exceeded(*worst, *bound, unit),
            WaiverUse { incomparable: Some(unit), .. } => Self::Incomparable(unit),
            WaiverUse { places: 0, .. } => Self::Unused,
            WaiverUse { .. } => Self::Used,
        }
    }

    /// The state in one word.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::NoRule => "no-rule",
            Self::Expired(_) => "expired",
            Self::Exceeded(..) => "exceeded",
            Self::Incomparable(_) => "incomparable",
            Self::Unused => "unused",
            Self::Used => "used",
        }
    }
}

/// What waivers are held against.
struct Splitter<'a> {
    job: &'a Job,
    drawing: &'a Drawing,
    today: Option<Date>,
}

impl Splitter<'_> {
    /// Parts a finding into what waivers cover and what stands. A waiver covers places: a finding that has none, such as
    /// a hole that is missing, stands.
    fn split(&self, mut finding: Finding, uses: &mut [WaiverUse], result: &mut Vec<Finding>) {
        if finding.places.is_empty() {
            return result.push(finding);
        }
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
                    // Which places are not kept one by one cannot be seen any more: only a waiver for all covers them.
                    let all = waiver.holes.is_empty() && waiver.tools.is_empty();
                    let more_places = if all { std::mem::take(&mut finding.more_places) } else { 0 };
                    result.push(Finding { places: covered, more_places, status, ..finding.clone() });
                }
                Some(lapse) => {
                    match lapse {
                        Lapse::Expired => used.expired += covered.len(),
                        Lapse::Exceeded(value, bound, unit) => used.exceed(value, bound, unit),
                        Lapse::Incomparable(unit) => used.incomparable = Some(unit),
                    }
                    finding.places.extend(covered);
                }
            }
        }
        if !finding.places.is_empty() || finding.more_places > 0 {
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
        let (Some(measured), Some(limit)) = (&finding.measured, &finding.limit) else {
            return waiver.bound.map(|_| Lapse::Incomparable(""));
        };
        waiver.bound?;
        let Some(bound) = waiver.bound_in(measured.unit) else { return Some(Lapse::Incomparable(measured.unit)) };
        let low_is_bad = measured.value < limit.quantity.value;
        let passed = if low_is_bad { measured.value < bound } else { measured.value > bound };
        let beyond = passed && (measured.value - bound).abs() > 1e-9 * bound.abs();
        beyond.then_some(Lapse::Exceeded(measured.value, bound, measured.unit))
    }
}

/// Reports what became of each waiver, under the waiver rules.
#[must_use]
pub fn verdicts(uses: &[WaiverUse], job: &Job, units: UnitSystem) -> Ledger {
    let mut ledger = Ledger::default();
    for (used, waiver) in uses.iter().zip(&job.waivers) {
        let Some((name, message, advice)) = verdict(used, waiver, units) else { continue };
        if let Some(rule) = rule_named(name) {
            let report = Report::on_job(format!("waiver {}", waiver.id), message).advice(advice);
            ledger.report(rule, Subject::default(), report);
        }
    }
    ledger
}

/// Rule, message and advice.
fn verdict(used: &WaiverUse, waiver: &Waiver, units: UnitSystem) -> Option<(&'static str, String, String)> {
    let (id, rule) = (&waiver.id, &waiver.rule);
    let (name, message, advice) = match WaiverState::of(waiver, used) {
        WaiverState::Used => return None,
        WaiverState::NoRule => {
            let message = format!("waiver {id} names `{rule}`, which is no rule");
            return Some(("waiver-unused", message, suggestion(rule)));
        }
        WaiverState::Expired(places) => {
            let end = waiver.expires.map(|date| date.to_string()).unwrap_or_default();
            let stand = if places == 1 { "place stands" } else { "places stand" };
            let message = format!("waiver {id} for `{rule}` ended on {end}; {places} {stand} again");
            ("waiver-expired", message, "renew it or mend the program")
        }
        WaiverState::Exceeded(worst, bound, unit) => {
            let (bound, worst) = (units.worded(bound, unit), units.worded(worst, unit));
            let message = format!("waiver {id} for `{rule}` holds to {bound}, the program has {worst}");
            ("waiver-exceeded", message, "ask for a new waiver or mend the program")
        }
        WaiverState::Incomparable(unit) => {
            let own = if waiver.bound_unit.is_empty() { "a bare number" } else { &waiver.bound_unit };
            let message = match unit {
                "" => format!("waiver {id} has a bound, but `{rule}` measures nothing to hold against it"),
                unit => format!("waiver {id} has a bound in {own}, but `{rule}` measures in {unit}"),
            };
            ("waiver-unused", message, "bound it in the unit the rule measures in, or leave the bound out")
        }
        WaiverState::Unused => {
            let message = format!("waiver {id} for `{rule}` covers nothing in this program");
            ("waiver-unused", message, "take it out of the job file")
        }
    };
    Some((name, message, advice.to_owned()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnostic::{Bound, Quantity, Severity};
    use crate::source::{SourceId, Span};

    fn waiver(bound: f64, unit: &str) -> Waiver {
        Waiver {
            id: "WV-1".to_owned(),
            rule: "exit-feed-high".to_owned(),
            holes: Vec::new(),
            tools: Vec::new(),
            bound: Some(bound),
            bound_unit: unit.to_owned(),
            reason: "the bush guides the drill".to_owned(),
            raised_by: String::new(),
            approved_by: String::new(),
            date: None,
            expires: None,
            effectivity: String::new(),
            reference: String::new(),
        }
    }

    /// An exit fed at 0.05 mm/rev where 0.03 is the most, at two places kept one by one and 40 only counted.
    fn finding(places: &[Place], more_places: u64) -> Finding {
        Finding {
            rule: "exit-feed-high",
            severity: Severity::Error,
            status: Status::Open,
            message: String::new(),
            why: Vec::new(),
            advice: None,
            measured: Some(Quantity { value: 0.05, unit: "mm/rev" }),
            limit: Some(Bound { quantity: Quantity { value: 0.03, unit: "mm/rev" }, origin: "house value".to_owned() }),
            job_entry: None,
            places: places.to_vec(),
            more_places,
            related: Vec::new(),
            remedy: None,
        }
    }

    fn split(finding: Finding, waiver: Waiver) -> (Vec<(Status, usize, u64)>, usize) {
        let job = Job { waivers: vec![waiver], ..Job::default() };
        let (parts, uses) = apply(vec![finding], &job, &Drawing::default(), None);
        let parts = parts.into_iter().map(|part| (part.status, part.places.len(), part.more_places)).collect();
        (parts, uses.iter().map(|used| used.places).sum())
    }

    fn at(tool: u32) -> Place {
        Place { source: SourceId::default(), span: Span::new(tool, tool + 1), tool: Some(tool), hole: None }
    }

    #[test]
    fn places_only_counted_are_covered_by_a_waiver_for_all_and_by_no_other() {
        let places = [at(11), at(12)];
        let waived = || Status::Waived("WV-1".to_owned());
        let all = split(finding(&places, 40), waiver(0.06, "mm/rev"));
        assert_eq!(all, (vec![(waived(), 2, 40)], 2));
        let one_tool = Waiver { tools: vec![11], ..waiver(0.06, "mm/rev") };
        let one = split(finding(&places, 40), one_tool.clone());
        assert_eq!(one, (vec![(waived(), 1, 0), (Status::Open, 1, 40)], 1));
        // With no kept place left, what was only counted still stands.
        let counted = split(finding(&places[..1], 40), one_tool);
        assert_eq!(counted, (vec![(waived(), 1, 0), (Status::Open, 0, 40)], 1));
    }

    #[test]
    fn a_finding_without_a_place_stands() {
        assert_eq!(split(finding(&[], 0), waiver(0.06, "mm/rev")), (vec![(Status::Open, 0, 0)], 0));
    }

    #[test]
    fn a_bound_is_held_in_the_unit_measured() {
        assert_eq!(waiver(0.002, "in/rev").bound_in("mm/rev"), Some(0.0508));
        assert_eq!(waiver(30.0, "").bound_in("holes"), Some(30.0));
        assert_eq!(waiver(0.002, "").bound_in("mm/rev"), None);
        assert_eq!(waiver(120.0, "mm/min").bound_in("mm/rev"), None);
    }

    #[test]
    fn the_worst_is_the_furthest_beyond_the_bound_on_either_side() {
        let mut used = WaiverUse::default();
        used.exceed(0.03, 0.04, "mm/rev");
        used.exceed(0.01, 0.04, "mm/rev");
        used.exceed(0.02, 0.04, "mm/rev");
        let (rule, message, _) = verdict(&used, &waiver(0.04, "mm/rev"), UnitSystem::Inch).unwrap();
        assert_eq!(rule, "waiver-exceeded");
        assert_eq!(message, "waiver WV-1 for `exit-feed-high` holds to 0.00157 in/rev, the program has 0.00039 in/rev");
    }

    #[test]
    fn a_bound_that_measures_something_else_covers_nothing() {
        let used = WaiverUse { incomparable: Some("mm/rev"), ..WaiverUse::default() };
        let (_, message, _) = verdict(&used, &waiver(120.0, "mm/min"), UnitSystem::Metric).unwrap();
        assert_eq!(message, "waiver WV-1 has a bound in mm/min, but `exit-feed-high` measures in mm/rev");
    }
}
