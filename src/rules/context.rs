//! What a check may see and say.

use super::ledger::{Cause, Ledger, Subject};
use super::rule::{HoleView, Rule};
use crate::diagnostic::{Bound, Quantity, Remedy, Severity};
use crate::job::{Job, Laminate, Tool};
use crate::motion::{BlockRef, Set};
use crate::operation::{HoleWord, point_key, point_length};
use crate::process::Reading;
use crate::source::{SourceId, Span};
use crate::units::{Millimetres, UnitSystem};

/// Most feed for each turn that is still believed, mm/rev: a house value.
pub(super) const MOST_BELIEVED: f64 = 5.0;

/// Handed to every check: the job, the program's units, and where to report.
pub struct Context<'a> {
    /// The job, if there is one.
    pub job: Option<&'a Job>,
    /// Units the program speaks; word every message in them.
    pub units: UnitSystem,
    pub(crate) rule: &'static Rule,
    pub(crate) subject: Subject,
    pub(crate) ledger: &'a mut Ledger,
}

/// Where a finding points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Aim {
    /// A word of the hole under check, as stroke number `stroke` of its recipe sees it.
    Hole {
        /// Which word.
        word: HoleWord,
        /// Which stroke; 0 when it does not matter.
        stroke: usize,
    },
    /// A word of some other hole, by its index in the survey.
    HoleAt {
        /// Index of the hole.
        index: u32,
        /// Which word.
        word: HoleWord,
    },
    /// A whole block.
    Block(BlockRef),
    /// The first word with that letter in a block; the whole block when it has none.
    Word(BlockRef, u8),
    /// The word at a byte offset of a source, as `Set` keeps it.
    At {
        /// Which source.
        source: u16,
        /// Byte offset.
        at: u32,
    },
    /// The word with that letter behind the word at a byte offset, in the same line; that word itself when there is none.
    Beside {
        /// Which source.
        source: u16,
        /// Byte offset of the word that a `Set` keeps.
        at: u32,
        /// Letter of the word meant.
        letter: u8,
    },
    /// Nowhere in the program text: an entry of the job file, named by `Report::job_entry`.
    JobFile,
    /// Exactly these bytes.
    Exact {
        /// Which source.
        source: SourceId,
        /// Which bytes.
        span: Span,
    },
}

impl Aim {
    /// The word that set a modal value; `None` for an unstated one.
    #[must_use]
    pub fn set<T>(value: &Set<T>) -> Option<Self> {
        value.is_stated().then_some(Self::At { source: value.source, at: value.at })
    }
}

/// A finding in the making. The same rule with the same message is one finding, however many places report it.
#[derive(Clone, Debug, PartialEq)]
pub struct Report {
    pub(crate) message: String,
    pub(crate) aim: Aim,
    pub(crate) why: Vec<String>,
    pub(crate) advice: Option<String>,
    pub(crate) measured: Option<Quantity>,
    pub(crate) limit: Option<Bound>,
    pub(crate) related: Vec<(Aim, String)>,
    pub(crate) remedy: Option<Remedy>,
    pub(crate) severity: Option<Severity>,
    pub(crate) job_entry: Option<String>,
}

impl Report {
    /// A report that points at `aim`. Message: lower case, no full stop, what was found beside its limit.
    #[must_use]
    pub fn new(aim: Aim, message: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            aim,
            why: Vec::new(),
            advice: None,
            measured: None,
            limit: None,
            related: Vec::new(),
            remedy: None,
            severity: None,
            job_entry: None,
        }
    }

    /// A report about an entry of the job file, such as `waiver WV-012`, that no place of the program text stands for.
    #[must_use]
    pub fn on_job(entry: impl Into<String>, message: impl Into<String>) -> Self {
        Self { job_entry: Some(entry.into()), ..Self::new(Aim::JobFile, message) }
    }

    /// One line of the arithmetic.
    #[must_use]
    pub fn why(mut self, line: impl Into<String>) -> Self {
        self.why.push(line.into());
        self
    }

    /// What to do.
    #[must_use]
    pub fn advice(mut self, text: impl Into<String>) -> Self {
        self.advice = Some(text.into());
        self
    }

    /// What was measured, in its limit's unit.
    #[must_use]
    pub fn measured(mut self, value: f64, unit: &'static str) -> Self {
        self.measured = Some(Quantity { value, unit });
        self
    }

    /// The limit it broke; `value` in `unit`, `origin` as `Limit` carries it.
    #[must_use]
    pub fn limit(mut self, value: f64, unit: &'static str, origin: impl Into<String>) -> Self {
        self.limit = Some(Bound { quantity: Quantity { value, unit }, origin: origin.into() });
        self
    }

    /// A second place.
    #[must_use]
    pub fn related(mut self, aim: Option<Aim>, message: impl Into<String>) -> Self {
        if let Some(aim) = aim {
            self.related.push((aim, message.into()));
        }
        self
    }

    /// How `patch` could cure it.
    #[must_use]
    pub fn remedy(mut self, remedy: Remedy) -> Self {
        self.remedy = Some(remedy);
        self
    }

    /// Another severity than the rule's own, for rules with grades.
    #[must_use]
    pub fn severity(mut self, severity: Severity) -> Self {
        self.severity = Some(severity);
        self
    }
}

impl<'a> Context<'a> {
    /// Names the tool that what is reported next is about, where the check itself is about none.
    pub fn of_tool(&mut self, tool: u32) -> &mut Self {
        self.subject.tool = Some(tool);
        self
    }

    /// Reports a finding at the event under check.
    pub fn report(&mut self, report: Report) {
        self.ledger.report(self.rule, self.subject, report);
    }

    /// Reports a cause that may show at many places by different amounts; the worst words the finding.
    pub fn report_worst(&mut self, cause: Cause, excess: f64, aim: Aim, build: impl FnOnce(UnitSystem) -> Report) {
        let units = self.units;
        self.ledger.report_worst((self.rule, self.subject), cause, excess, aim, || build(units));
    }

    /// Reports for a hole under check, unless this rule has said the same of it already: passes through several layers
    /// of one kind are one finding.
    pub fn report_once(&mut self, report: Report) {
        if !self.ledger.has_said(self.rule, &report.message) {
            self.report(report);
        }
    }

    /// The passes of a hole, or a note of what kept them from being read. None where the feed is so far out that only
    /// `feed-implausible` has something to say of it.
    pub fn passes<'v>(&mut self, view: &HoleView<'v>) -> &'v [Reading] {
        self.note_gaps(view);
        let believed = |pass: &Reading| pass.per_rev.is_none_or(|feed| feed.0 <= MOST_BELIEVED);
        if view.reading.passes.iter().all(believed) { &view.reading.passes } else { &[] }
    }

    /// The passes of a hole for a rule that asks only which layer was cut where, or a note of what hides that.
    pub fn layers_cut<'v>(&mut self, view: &HoleView<'v>) -> &'v [Reading] {
        if view.reading.passes.is_empty() {
            self.note_gaps(view);
        }
        &view.reading.passes
    }

    fn note_gaps(&mut self, view: &HoleView<'_>) {
        if self.job.is_none() {
            self.not_checked("no job file is given", "job.laminate".to_owned());
        }
        for gap in &view.reading.gaps {
            self.not_checked(gap.why.clone(), gap.key.clone());
        }
    }

    /// Says that this rule could not conclude here, and which job-file key would let it.
    pub fn not_checked(&mut self, why: impl Into<String>, key: impl Into<Option<String>>) {
        self.ledger.not_checked(self.rule.name, why.into(), key.into(), true);
    }

    /// Says that no limit is given for this rule, where a specification need not state one; the run is still complete.
    pub fn no_limit(&mut self, why: impl Into<String>, key: impl Into<Option<String>>) {
        self.ledger.not_checked(self.rule.name, why.into(), key.into(), false);
    }

    /// Whether this rule has not said before that something is lacking of that name.
    pub fn speaks_first_of(&mut self, name: &str) -> bool {
        let spoken = self.ledger.spoken_of.entry(self.rule.name).or_default();
        let first = spoken.iter().all(|known| known != name);
        if first {
            spoken.push(name.to_owned());
        }
        first
    }

    /// Whether this rule has said that something is lacking of that name.
    pub fn has_spoken_of(&self, name: &str) -> bool {
        self.ledger.spoken_of.get(self.rule.name).is_some_and(|spoken| spoken.iter().any(|known| known == name))
    }

    /// Remembers a number for this rule until its next call; returns the one before.
    pub fn swap(&mut self, value: u64) -> Option<u64> {
        self.ledger.memory.insert(self.rule.name, value)
    }

    /// The laminate, or a note that this rule could not conclude without one.
    pub fn laminate(&mut self) -> Option<&'a Laminate> {
        let laminate = self.job.and_then(|job| job.laminate.as_ref());
        if laminate.is_none() {
            let why = if self.job.is_none() { "no job file is given" } else { "no laminate is given" };
            self.not_checked(why, "job.laminate".to_owned());
        }
        laminate
    }

    /// The tool of that number, or a note that this rule could not conclude without it.
    pub fn tool(&mut self, number: u32) -> Option<&'a Tool> {
        let tool = self.job.and_then(|job| job.tool(number));
        if tool.is_none() && number == 0 {
            self.not_checked("the tool in the spindle is not known", None);
        } else if tool.is_none() {
            self.not_checked("the tool is not in the job file", format!("tool.{number}"));
        }
        tool
    }

    /// Length from tip to full diameter of a tool, or a note that this rule could not conclude without it.
    pub fn point(&mut self, number: u32) -> Option<Millimetres> {
        let tool = self.tool(number)?;
        let point = point_length(tool);
        if point.is_none() {
            self.not_checked("the point of the tool is not given", format!("tool.{number}.{}", point_key(&tool.kind)));
        }
        point
    }

    /// What a job or a specification need not state, or a note that it does not.
    pub fn stated<'l, T>(&mut self, fact: Option<&'l T>, key: impl Into<String>) -> Option<&'l T> {
        if fact.is_none() {
            let key = key.into();
            self.no_limit(format!("`{key}` is not given"), key);
        }
        fact
    }
}
