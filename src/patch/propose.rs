//! A patch and its verdict: findings are joined, proved together, and those that spoil the proof are left out.

use super::Inputs;
use super::draft::{Draft, Plan, Refusal, is_doubt};
use super::edit::{Edit, Edits};
use super::unified::unified_with_headings;
use super::verify::{Checked, Fault, Outcome, verify};
use super::way::{Change, Way};
use crate::diagnostic::Status;
use crate::source::{Library, Source, SourceId};
use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;

/// Findings whose patch is proved alone at most, and bytes of program read for that; house values.
const MOST_ALONE: usize = 20;
const MOST_BYTES: usize = 60_000_000;

/// Checks a changed program the way the original was: main program first, then where its subprograms are found.
pub type Recheck<'a> = dyn Fn(Source, &dyn Library) -> Checked + 'a;

/// A proved patch. There is no way to build one but by `propose`, so none can be shown without its verdict.
#[derive(Debug)]
pub struct Patch {
    changes: Vec<Changed>,
    verdict: Verdict,
}

/// One source with its edits.
#[derive(Debug)]
struct Changed {
    id: SourceId,
    name: String,
    diff: Vec<u8>,
    bytes: Vec<u8>,
    edits: Edits,
}

/// What the proof says.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Verdict {
    /// Findings that are gone in the patched text, by index.
    pub cured: Vec<usize>,
    /// Open findings that stay, each with the reason, by index.
    pub left: Vec<(usize, String)>,
    /// Findings, as `rule: message`, on holes that could not be judged before and now can, and waivers out of use.
    pub revealed: Vec<String>,
    /// Holes made in another way than before.
    pub holes_changed: usize,
    /// Holes made exactly as before.
    pub holes_same: usize,
}

impl Patch {
    /// The patch that cures as many of the open findings as can be proved.
    #[must_use]
    pub fn propose(inputs: &Inputs<'_>, recheck: &Recheck<'_>) -> Self {
        let open = inputs.findings.iter().enumerate().filter(|(_, finding)| finding.status == Status::Open);
        let open: Vec<usize> = open.map(|(index, _)| index).collect();
        Self::fulfil(inputs, open, recheck)
    }

    /// The patch that fulfils as many of the wanted findings, by index, as can be proved.
    #[must_use]
    pub fn fulfil(inputs: &Inputs<'_>, wanted: Vec<usize>, recheck: &Recheck<'_>) -> Self {
        let (plan, refusals) = Plan::new(inputs, &wanted);
        let library = Overlay { library: inputs.library, sources: inputs.sources };
        let main = inputs.sources.first();
        let way = main.map(|main| Way::of(main, &library, inputs.settings, inputs.tools)).unwrap_or_default();
        let mut search = Search { inputs, recheck, plan, way, left: refusals.into_iter().collect() };
        let candidates = wanted.into_iter().filter(|index| !search.left.contains_key(index)).collect();
        let proved = search.best(candidates);
        Self::build(inputs, proved, search.left)
    }

    /// For each open finding with a remedy, the patch that cures it without the others, where one can be proved; for the
    /// gravest findings alone where there are many, for each takes checks of its own.
    #[must_use]
    pub fn each(inputs: &Inputs<'_>, recheck: &Recheck<'_>) -> Vec<(usize, Self)> {
        let bytes: usize = inputs.sources.iter().map(|source| source.bytes.len()).sum();
        let most = MOST_ALONE.min(MOST_BYTES / bytes.max(1));
        let open = inputs.findings.iter().enumerate();
        let open = open.filter(|(_, finding)| finding.status == Status::Open && finding.remedy.is_some()).take(most);
        let patches = open.map(|(index, _)| (index, Self::fulfil(inputs, vec![index], recheck)));
        patches.filter(|(index, patch)| patch.verdict.cured.contains(index)).collect()
    }

    fn build(inputs: &Inputs<'_>, proved: Proved, mut left: BTreeMap<usize, String>) -> Self {
        let Proved { mut findings, draft, outcome } = proved;
        // Some of what could not be patched itself, such as a waiver exceeded, is gone with what was.
        findings.extend(outcome.gone.iter().filter(|index| left.remove(index).is_some()));
        let mut changes = Vec::new();
        for (id, edits) in draft.edits.iter().filter(|(_, edits)| !edits.is_empty()) {
            let Some(source) = inputs.sources.get(usize::from(id.0)) else { continue };
            changes.push(Changed {
                id: *id,
                name: source.name.clone(),
                diff: unified_with_headings(&source.name, &source.bytes, edits, &|bytes| rules_in(&draft, *id, bytes)),
                bytes: edits.apply(&source.bytes),
                edits: edits.clone(),
            });
        }
        let holes_changed = draft.wishes.len();
        let verdict = Verdict {
            cured: findings.into_iter().collect(),
            left: left.into_iter().collect(),
            revealed: outcome.revealed,
            holes_changed,
            holes_same: inputs.survey.holes.len().saturating_sub(holes_changed),
        };
        Self { changes, verdict }
    }

    /// What the proof says.
    #[must_use]
    pub fn verdict(&self) -> &Verdict {
        &self.verdict
    }

    /// Whether nothing could be cured.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty()
    }

    /// The unified diff, one part a source.
    #[must_use]
    pub fn diff(&self) -> Vec<u8> {
        self.changes.iter().flat_map(|change| change.diff.iter().copied()).collect()
    }

    /// The edits of each source, for whoever carries them out by himself.
    pub fn edits(&self) -> impl Iterator<Item = (SourceId, &[Edit])> {
        self.changes.iter().map(|change| (change.id, change.edits.as_slice()))
    }

    /// Names and bytes of the patched sources; writing them is the caller's decision.
    pub fn patched(&self) -> impl Iterator<Item = (SourceId, &str, &[u8])> {
        self.changes.iter().map(|change| (change.id, change.name.as_str(), change.bytes.as_slice()))
    }
}

/// The search for the largest set of findings whose patch holds.
struct Search<'a> {
    inputs: &'a Inputs<'a>,
    recheck: &'a Recheck<'a>,
    plan: Plan<'a>,
    /// The way of the tool as it is.
    way: Way,
    left: BTreeMap<usize, String>,
}

/// Findings whose patch holds.
#[derive(Default)]
struct Proved {
    findings: BTreeSet<usize>,
    draft: Draft,
    outcome: Outcome,
}

impl Search<'_> {
    /// All together if that holds; without those to blame if that holds; else one after the other, gravest first. Those
    /// that only clashed with others get a second chance beside what was kept.
    fn best(&mut self, mut findings: BTreeSet<usize>) -> Proved {
        let mut clashed = BTreeSet::new();
        while !findings.is_empty() {
            match self.attempt(&findings) {
                Ok(proved) => return self.with_more(proved, &clashed),
                Err(Fault::Whole(_)) => break,
                Err(Fault::Clash(blamed)) => {
                    clashed.extend(blamed.iter().map(|(index, _)| *index));
                    self.leave(blamed, &mut findings);
                }
                Err(Fault::Uncured(blamed)) => self.leave(blamed, &mut findings),
            }
        }
        let proved = self.with_more(Proved::default(), &findings);
        self.with_more(proved, &clashed)
    }

    fn leave(&mut self, blamed: Vec<Refusal>, findings: &mut BTreeSet<usize>) {
        for (index, reason) in blamed {
            findings.remove(&index);
            self.left.insert(index, reason);
        }
    }

    /// Adds what can be added of `findings`, one after the other, doubts about units first.
    fn with_more(&mut self, mut kept: Proved, findings: &BTreeSet<usize>) -> Proved {
        let doubt = |index: &&usize| self.inputs.findings.get(**index).is_some_and(is_doubt);
        let (doubts, others): (Vec<&usize>, Vec<&usize>) = findings.iter().partition(doubt);
        for &index in doubts.into_iter().chain(others) {
            let mut more = kept.findings.clone();
            more.insert(index);
            match self.attempt(&more) {
                Ok(proved) => {
                    kept = proved;
                    self.left.remove(&index);
                }
                Err(fault) => {
                    self.left.insert(index, reason_for(index, fault));
                }
            }
        }
        kept
    }

    fn attempt(&self, findings: &BTreeSet<usize>) -> Result<Proved, Fault> {
        let draft = self.plan.draft(findings).map_err(Fault::Clash)?;
        let patched = patched_sources(self.inputs.sources, &draft.edits);
        let library = Overlay { library: self.inputs.library, sources: &patched };
        let main = patched.first().cloned().unwrap_or_else(|| Source::new("", ""));
        let Inputs { sources, settings, tools, .. } = *self.inputs;
        let change = Change { sources, edits: &draft.edits, liberties: &draft.liberties };
        self.way.compare(&change, &main, &library, settings, tools).map_err(Fault::Whole)?;
        let outcome = verify(self.inputs, &draft, findings, &(self.recheck)(main, &library))?;
        Ok(Proved { findings: findings.clone(), draft, outcome })
    }
}

/// The rules that the edits between two bytes of a source satisfy.
fn rules_in(draft: &Draft, source: SourceId, bytes: Range<usize>) -> String {
    let at = |byte: usize| (source, u32::try_from(byte).unwrap_or(u32::MAX));
    let rules: BTreeSet<&str> =
        draft.rules.range(at(bytes.start)..=at(bytes.end)).flat_map(|(_, rules)| rules).copied().collect();
    rules.into_iter().collect::<Vec<_>>().join(", ")
}

/// A library whose programs may have been changed.
pub(super) struct Overlay<'a> {
    /// Where they came from.
    pub library: &'a dyn Library,
    /// How they are now, by name.
    pub sources: &'a [Source],
}

impl Library for Overlay<'_> {
    fn find(&self, number: u32) -> Option<Source> {
        let found = self.library.find(number)?;
        let changed = self.sources.iter().find(|source| source.name == found.name);
        Some(changed.cloned().unwrap_or(found))
    }
}

fn reason_for(index: usize, fault: Fault) -> String {
    match fault {
        Fault::Whole(reason) => reason,
        Fault::Clash(blamed) | Fault::Uncured(blamed) => {
            let own = blamed.iter().find(|(blamed, _)| *blamed == index);
            own.or(blamed.first()).map(|(_, reason): &Refusal| reason.clone()).unwrap_or_default()
        }
    }
}

fn patched_sources(sources: &[Source], edits: &BTreeMap<SourceId, Edits>) -> Vec<Source> {
    let patched = |(index, source): (u16, &Source)| match edits.get(&SourceId(index)) {
        Some(edits) => Source::new(source.name.clone(), edits.apply(&source.bytes)),
        None => source.clone(),
    };
    (0..).zip(sources).map(patched).collect()
}
