//! Which findings a revision cures, keeps and brings.

use super::change::{Fate, FindingChange};
use crate::diagnostic::{Finding, Status};
use std::collections::BTreeMap;

/// The findings of both, those that stand open in one of them, gravest fate first.
#[must_use]
pub fn finding_changes(old: &[Finding], new: &[Finding]) -> Vec<FindingChange> {
    let mut olds = by_rule(old);
    let mut found: Vec<FindingChange> = Vec::new();
    for (rule, mut news) in by_rule(new) {
        let mut before = olds.remove(rule).unwrap_or_default();
        for same in [true, false] {
            news.retain(|finding| {
                let twin = before.iter().position(|other| !same || other.message == finding.message);
                let Some(twin) = twin.map(|at| before.remove(at)) else { return true };
                found.push(change(Some(twin), Some(finding)));
                false
            });
        }
        found.extend(news.into_iter().map(|finding| change(None, Some(finding))));
        found.extend(before.into_iter().map(|finding| change(Some(finding), None)));
    }
    found.extend(olds.into_values().flatten().map(|finding| change(Some(finding), None)));
    found.iter_mut().for_each(|change| waive(change, new));
    found.sort_by(|a, b| a.fate.cmp(&b.fate).then(b.severity.cmp(&a.severity)).then(a.rule.cmp(b.rule)));
    found
}

fn by_rule(findings: &[Finding]) -> BTreeMap<&'static str, Vec<&Finding>> {
    let mut rules: BTreeMap<&'static str, Vec<&Finding>> = BTreeMap::new();
    for finding in findings.iter().filter(|finding| finding.status == Status::Open) {
        rules.entry(finding.rule).or_default().push(finding);
    }
    rules
}

/// A finding that stands no more because a waiver covers it is not resolved.
fn waive(change: &mut FindingChange, new: &[Finding]) {
    let Some((message, _)) = change.old.as_ref().filter(|_| change.fate == Fate::Resolved) else { return };
    let same = |finding: &&Finding| finding.rule == change.rule && finding.message == *message;
    let waived = new.iter().filter(same).find_map(|finding| match &finding.status {
        Status::Waived(id) => Some((finding, id)),
        Status::Open | Status::Known => None,
    });
    if let Some((finding, id)) = waived {
        let places = finding.places.len() as u64 + finding.more_places;
        (change.fate, change.new) = (Fate::Waived, Some((format!("waived by {id}"), places)));
    }
}

fn change(old: Option<&Finding>, new: Option<&Finding>) -> FindingChange {
    let side = |finding: &Finding| (finding.message.clone(), finding.places.len() as u64 + finding.more_places);
    let (before, after) = (old.map(side), new.map(side));
    let fate = match (&before, &after) {
        (None, _) => Fate::New,
        (_, None) => Fate::Resolved,
        (before, after) if before == after => Fate::Unchanged,
        _ => Fate::Changed,
    };
    let finding = new.or(old);
    FindingChange {
        fate,
        rule: finding.map_or("", |finding| finding.rule),
        severity: finding.map_or(crate::diagnostic::Severity::Note, |finding| finding.severity),
        old: before,
        new: after,
    }
}
