//! Findings that were there before: matched by what they are about, never by their line, so that only new ones count.

mod entry;
mod file;

pub use entry::Entry;

use crate::check::Report;
use crate::diagnostic::{Finding, Place, Status};
use crate::render::Book;
use std::collections::BTreeMap;

/// What was known when the baseline was written, and how often.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Baseline {
    entries: BTreeMap<Entry, u64>,
}

/// What a baseline says of one program.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Judgement {
    /// Findings it does not know, with how often more than it knows.
    pub new: Vec<(Entry, u64)>,
    /// Entries nothing answers to any more, with how often.
    pub stale: Vec<(Entry, u64)>,
}

impl Baseline {
    /// Marks the open findings of a report that are known; places that are not stay open as a finding of their own. An
    /// entry that stands for two places covers two, so that a new finding never hides behind one that went away.
    /// `program` is the name the baseline knows the program by.
    pub fn judge(&self, program: &str, report: &mut Report) -> Judgement {
        let mut left = self.of_program(program, &report.only);
        let mut new = BTreeMap::new();
        let keys: Vec<Keys> = {
            let book = Book::new(report);
            report.findings.iter().map(|finding| Keys::of(program, &book, finding)).collect()
        };
        let findings = std::mem::take(&mut report.findings);
        for (finding, keys) in findings.into_iter().zip(keys) {
            if finding.status == Status::Open {
                split(finding, keys, &mut left, &mut new, &mut report.findings);
            } else {
                report.findings.push(finding);
            }
        }
        left.retain(|_, count| *count > 0);
        Judgement { new: new.into_iter().collect(), stale: left.into_iter().collect() }
    }

    /// Takes in what is new.
    pub fn accept(&mut self, new: &[(Entry, u64)]) {
        for (entry, count) in new {
            *self.entries.entry(entry.clone()).or_default() += count;
        }
    }

    /// Lets go of what nothing answers to any more.
    pub fn forget(&mut self, stale: &[(Entry, u64)]) {
        for (entry, count) in stale {
            if let Some(known) = self.entries.get_mut(entry) {
                *known = known.saturating_sub(*count);
            }
        }
        self.entries.retain(|_, count| *count > 0);
    }

    /// Entries of programs that are gone.
    #[must_use]
    pub fn of_gone(&self, gone: impl Fn(&str) -> bool) -> Vec<(Entry, u64)> {
        let entries = self.entries.iter().filter(|(entry, _)| gone(&entry.program));
        entries.map(|(entry, count)| (entry.clone(), *count)).collect()
    }

    /// The entries of one program; those of rules that were not asked for are neither known nor stale.
    fn of_program(&self, program: &str, only: &[&'static str]) -> BTreeMap<Entry, u64> {
        let asked = |entry: &Entry| only.is_empty() || only.contains(&entry.rule.as_str());
        let own = self.entries.iter().filter(|(entry, _)| entry.program == program && asked(entry));
        own.map(|(entry, count)| (entry.clone(), *count)).collect()
    }
}

/// What a finding is known by: an entry for each place, and one for all places that were only counted.
struct Keys {
    places: Vec<Entry>,
    whole: Entry,
}

impl Keys {
    fn of(program: &str, book: &Book<'_>, finding: &Finding) -> Self {
        let places = finding.places.iter().map(|place| Entry::at(program, book, finding, place)).collect();
        Self { places, whole: Entry::whole(program, finding) }
    }
}

/// Takes one from `left`; one that is not there is new.
fn take(entry: Entry, left: &mut BTreeMap<Entry, u64>, new: &mut BTreeMap<Entry, u64>) -> bool {
    match left.get_mut(&entry).filter(|count| **count > 0) {
        Some(count) => {
            *count -= 1;
            true
        }
        None => {
            *new.entry(entry).or_default() += 1;
            false
        }
    }
}

/// Parts a finding into what is known of it and what stands.
fn split(
    finding: Finding,
    keys: Keys,
    left: &mut BTreeMap<Entry, u64>,
    new: &mut BTreeMap<Entry, u64>,
    findings: &mut Vec<Finding>,
) {
    if finding.places.is_empty() && finding.more_places == 0 {
        let status = if take(keys.whole, left, new) { Status::Known } else { Status::Open };
        findings.push(Finding { status, ..finding });
        return;
    }
    let (mut known, mut open): (Vec<Place>, Vec<Place>) = (Vec::new(), Vec::new());
    for (place, entry) in finding.places.iter().zip(keys.places) {
        if take(entry, left, new) { known.push(place.clone()) } else { open.push(place.clone()) }
    }
    let more_known = left.get(&keys.whole).copied().unwrap_or_default().min(finding.more_places);
    let more_open = finding.more_places - more_known;
    if let Some(count) = left.get_mut(&keys.whole) {
        *count -= more_known;
    }
    if more_open > 0 {
        *new.entry(keys.whole).or_default() += more_open;
    }
    for (places, more_places, status) in [(open, more_open, Status::Open), (known, more_known, Status::Known)] {
        if !places.is_empty() || more_places > 0 {
            findings.push(Finding { places, more_places, status, ..finding.clone() });
        }
    }
}
