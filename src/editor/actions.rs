//! Proved edits as actions: what a finding's patch changes, offered only once its proof holds.

use super::desk::Desk;
use super::findings;
use super::study::{Judged, Study};
use crate::diagnostic::{Finding, Status};
use crate::patch::Patch;
use crate::source::{SourceId, Span};
use crate::units::counted;
use lsp_types::{
    CodeAction, CodeActionKind, CodeActionOrCommand, DocumentChanges, OneOf, OptionalVersionedTextDocumentIdentifier,
    TextDocumentEdit, TextEdit, WorkspaceEdit,
};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Patches proved so far, by finding; `None` for the patch of all findings together. A study never changes, so they hold.
#[derive(Default)]
pub struct Proofs(RefCell<BTreeMap<Option<usize>, Rc<Patch>>>);

/// What the editor wants to see of actions.
pub struct Wanted<'a> {
    /// Kinds asked for; all when it does not say.
    pub only: Option<&'a [CodeActionKind]>,
    /// Whether it takes edits with the version of the text they are for.
    pub versions: bool,
}

impl Wanted<'_> {
    /// Whether `kind` or a kind that includes it was asked for.
    fn takes(&self, kind: &CodeActionKind) -> bool {
        let within = |wide: &CodeActionKind| {
            let rest = kind.as_str().strip_prefix(wide.as_str());
            wide == &CodeActionKind::EMPTY || rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
        };
        self.only.is_none_or(|only| only.iter().any(within))
    }
}

/// The actions for the findings that have a place in `within`.
pub fn of_range(
    study: &Study,
    id: SourceId,
    within: Span,
    wanted: &Wanted<'_>,
    desk: &Desk<'_>,
) -> Vec<CodeActionOrCommand> {
    let Some(judged) = study.judged() else { return Vec::new() };
    let mut actions = Vec::new();
    if wanted.takes(&CodeActionKind::QUICKFIX) {
        let near = judged.report.findings.iter().enumerate().filter(|(_, finding)| curable(finding, id, within));
        actions.extend(near.filter_map(|(index, finding)| one(study, judged, index, finding, wanted, desk)));
    }
    if wanted.takes(&CodeActionKind::SOURCE_FIX_ALL) {
        actions.extend(all(study, judged, wanted, desk));
    }
    actions.into_iter().map(CodeActionOrCommand::CodeAction).collect()
}

fn curable(finding: &Finding, id: SourceId, within: Span) -> bool {
    let touches = |span: Span| span.start <= within.end && within.start <= span.end;
    let open = finding.status == Status::Open && finding.remedy.is_some();
    open && finding.places.iter().any(|place| place.source == id && touches(place.span))
}

/// The patch of one finding; none when it cannot be proved.
fn one(
    study: &Study,
    judged: &Judged,
    index: usize,
    finding: &Finding,
    wanted: &Wanted<'_>,
    desk: &Desk<'_>,
) -> Option<CodeAction> {
    let patch = proved(study, judged, Some(index), desk);
    let (path, said) = findings::of_finding(study, judged, finding, desk);
    let advice = finding.advice.as_deref().unwrap_or(&finding.message);
    Some(CodeAction {
        title: format!("{advice} ({}; proved)", finding.rule),
        kind: Some(CodeActionKind::QUICKFIX),
        // An entry of another file is none of this one's.
        diagnostics: Some(vec![said]).filter(|_| path == study.path),
        edit: Some(edit(study, judged, &patch, wanted, desk)?),
        is_preferred: Some(true),
        ..CodeAction::default()
    })
}

/// The patch of all findings that can be cured together.
fn all(study: &Study, judged: &Judged, wanted: &Wanted<'_>, desk: &Desk<'_>) -> Option<CodeAction> {
    let open = judged.report.findings.iter().any(|finding| finding.status == Status::Open && finding.remedy.is_some());
    let patch = open.then(|| proved(study, judged, None, desk))?;
    let cured = counted(patch.verdict().cured.len() as u64, "finding");
    Some(CodeAction {
        title: format!("cure {cured} together (proved)"),
        kind: Some(CodeActionKind::SOURCE_FIX_ALL),
        edit: Some(edit(study, judged, &patch, wanted, desk)?),
        ..CodeAction::default()
    })
}

fn proved(study: &Study, judged: &Judged, index: Option<usize>, desk: &Desk<'_>) -> Rc<Patch> {
    if let Some(known) = study.proofs.0.borrow().get(&index) {
        return Rc::clone(known);
    }
    let library = desk.library(&study.path);
    let inputs = judged.inputs(&library);
    let recheck = |source, library: &dyn crate::source::Library| judged.recheck(source, library);
    let patch = Rc::new(match index {
        Some(index) => Patch::fulfil(&inputs, vec![index], &recheck),
        None => Patch::propose(&inputs, &recheck),
    });
    study.proofs.0.borrow_mut().insert(index, Rc::clone(&patch));
    patch
}

/// A patch as the editor carries it out; none when it changes nothing or bytes that are no text.
fn edit(study: &Study, judged: &Judged, patch: &Patch, wanted: &Wanted<'_>, desk: &Desk<'_>) -> Option<WorkspaceEdit> {
    if patch.is_empty() {
        return None;
    }
    let mut changes = Vec::new();
    for (id, edits) in patch.edits() {
        let (text, path) = (judged.texts.get(usize::from(id.0))?, study.path_of(id));
        let replace = |edit: &crate::patch::Edit| {
            let new_text = String::from_utf8(edit.text.clone()).ok()?;
            Some(TextEdit { range: text.range(edit.span, desk.columns), new_text })
        };
        changes.push((path, edits.iter().map(replace).collect::<Option<Vec<_>>>()?));
    }
    if !wanted.versions {
        let named = changes.into_iter().map(|(path, edits)| Some((desk.uri(&path)?, edits)));
        return Some(WorkspaceEdit { changes: Some(named.collect::<Option<_>>()?), ..WorkspaceEdit::default() });
    }
    let versioned = changes.into_iter().map(|(path, edits)| {
        let version = desk.document(&path).map(|document| document.version);
        let text_document = OptionalVersionedTextDocumentIdentifier { uri: desk.uri(&path)?, version };
        Some(TextDocumentEdit { text_document, edits: edits.into_iter().map(OneOf::Left).collect() })
    });
    let document_changes = Some(DocumentChanges::Edits(versioned.collect::<Option<_>>()?));
    Some(WorkspaceEdit { document_changes, ..WorkspaceEdit::default() })
}
