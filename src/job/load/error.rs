//! What is wrong with a job file, and the nearest word that would have been right.

use crate::source::{Source, Span};
use std::sync::Arc;

/// One fault of a job file, a library it uses, or a position file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct JobError {
    /// The file at fault, with its text.
    pub file: Arc<Source>,
    /// Where in that file.
    pub span: Span,
    /// What is wrong; lower case, no full stop.
    pub message: String,
    /// What to do about it.
    pub help: Option<String>,
}

/// The candidate nearest to `word`, if one is near enough to be a slip of the pen: a third of its letters may differ.
pub(in crate::job) fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let letters = word.chars().count();
    let reach = (letters / 3).max(1);
    candidates
        .into_iter()
        .map(|candidate| (strsim::osa_distance(word, candidate), candidate))
        .filter(|(distance, _)| *distance <= reach && *distance < letters)
        .min()
        .map(|(_, candidate)| candidate)
}

/// Help that names the nearest candidate, or all of them when none is near.
pub(in crate::job) fn did_you_mean(word: &str, candidates: &[&str]) -> Option<String> {
    if let Some(near) = nearest(word, candidates.iter().copied()) {
        return Some(format!("did you mean `{near}`?"));
    }
    (!candidates.is_empty()).then(|| format!("known here: {}", candidates.join(", ")))
}
