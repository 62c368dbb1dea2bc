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
    by_message: HashMap<(&'static str, String), usize>,
}

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
