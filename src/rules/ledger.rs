//! Where reports are gathered: one finding a cause, places beyond a bound only counted.

use super::context::{Aim, Report};
use super::rule::Rule;
use crate::diagnostic::NotChecked;
use std::collections::{BTreeMap, BTreeSet, HashMap};

/// Places kept for one finding; more are counted, not kept, so that memory stays bounded.
pub const PLACES_KEPT: usize = 100_000;

/// What a check was called on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Subject {
    /// Tool in the spindle.
    pub tool: Option<u32>,
    /// Hole under check.
    pub hole: Option<u32>,
}

/// A finding before its places are turned into spans.
#[derive(Clone)]
pub struct Draft {
    /// The rule.
    pub rule: &'static Rule,
    /// The first report; its aim is that of the first place.
    pub report: Report,
    /// All places kept.
    pub places: Vec<(Aim, Subject)>,
    /// Places only counted.
    pub more: u64,
}

/// All drafts of a run.
#[derive(Default)]
pub struct Ledger {
    /// In order of first report.
    pub drafts: Vec<Draft>,
    /// Checks without data, each said once.
    pub not_checked: BTreeSet<NotChecked>,
    /// Verdicts of the recipe under check: which draft, where on the hole.
    pub verdicts: Vec<(usize, Aim)>,
    /// One remembered number a rule.
    pub memory: BTreeMap<&'static str, u64>,
    /// Programs called that are not there.
    pub missing: BTreeSet<u32>,
    /// Names of what each rule has found lacking.
    pub spoken_of: BTreeMap<&'static str, Vec<String>>,
    by_message: HashMap<(&'static str, String), usize>,
    by_cause: HashMap<(&'static str, Cause), (usize, f64)>,
}

/// What makes two reports of one rule the same cause: the tool, and whatever two numbers tell causes apart.
pub type Cause = (u32, u64, u64);

impl Ledger {
    /// Takes a report; the same rule and message joins the earlier finding.
    pub fn report(&mut self, rule: &'static Rule, subject: Subject, report: Report) {
        let key = (rule.name, report.message.clone());
        let aim = report.aim;
        let index = *self.by_message.entry(key).or_insert_with(|| {
            self.drafts.push(Draft { rule, report, places: Vec::new(), more: 0 });
            self.drafts.len() - 1
        });
        self.verdicts.push((index, aim));
        self.place(index, aim, subject);
    }

    /// Takes a report of a cause that may show at many places by different amounts: one finding, worded by the worst.
    /// `build` is called only when this place is the worst so far.
    pub fn report_worst(
        &mut self,
        (rule, subject): (&'static Rule, Subject),
        cause: Cause,
        excess: f64,
        aim: Aim,
        build: impl FnOnce() -> Report,
    ) {
        let known = self.by_cause.get_mut(&(rule.name, cause));
        let index = match known {
            Some((index, worst)) => {
                if excess > *worst {
                    *worst = excess;
                    if let Some(draft) = self.drafts.get_mut(*index) {
                        draft.report = build();
                    }
                }
                *index
            }
            None => {
                let index = self.drafts.len();
                self.drafts.push(Draft { rule, report: build(), places: Vec::new(), more: 0 });
                self.by_cause.insert((rule.name, cause), (index, excess));
                index
            }
        };
        let last = self.drafts.get(index).and_then(|draft| draft.places.last());
        if last != Some(&(aim, subject)) {
            self.place(index, aim, subject);
        }
    }

    /// Whether this rule has said this of the recipe under check.
    #[must_use]
    pub fn has_said(&self, rule: &'static Rule, message: &str) -> bool {
        let index = self.by_message.get(&(rule.name, message.to_owned()));
        index.is_some_and(|index| self.verdicts.iter().any(|(said, _)| said == index))
    }

    /// Adds a place to a finding.
    pub fn place(&mut self, index: usize, aim: Aim, subject: Subject) {
        let Some(draft) = self.drafts.get_mut(index) else { return };
        if draft.places.len() < PLACES_KEPT {
            draft.places.push((aim, subject));
        } else {
            draft.more += 1;
        }
    }

    /// Notes that a rule could not conclude.
    pub fn not_checked(&mut self, rule: &str, why: String, key: Option<String>, needed: bool) {
        self.not_checked.insert(NotChecked { rule: rule.to_owned(), why, key, needed });
    }
}
