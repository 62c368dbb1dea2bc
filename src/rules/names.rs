//! Names of rules that a person typed: held against the rules there are, with the nearest one for a slip of the pen.

use super::{ALL, rule_named};
use crate::job::{Job, JobError, JobFiles};
use crate::source::Source;
use std::sync::Arc;

/// Likeness (Jaro-Winkler, 0 to 1) from which a name is offered as the one meant; house value.
const LIKE: f64 = 0.8;

/// The name of every rule.
#[must_use]
pub fn names() -> Vec<&'static str> {
    ALL.iter().map(|entry| entry.rule.name).collect()
}

/// The rule whose name is most like `name`, if one is like enough to be the one meant.
fn nearest_name(name: &str) -> Option<&'static str> {
    let likeness = names().into_iter().map(|known| (strsim::jaro_winkler(name, known), known));
    let near = likeness.filter(|(likeness, _)| *likeness > LIKE);
    near.max_by(|one, other| one.0.total_cmp(&other.0)).map(|(_, near)| near)
}

/// What to do about a name that no rule has.
#[must_use]
pub fn suggestion(name: &str) -> String {
    match nearest_name(name) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "`lastply rules` lists them all".to_owned(),
    }
}

/// Reads a job file, the files it names, and the names of rules in it.
///
/// # Errors
/// Every fault found.
pub fn load_job(main: &Source, files: &dyn JobFiles) -> Result<Job, Vec<JobError>> {
    let job = Job::load(main, files)?;
    let unknown = unknown_in(&job, main);
    if unknown.is_empty() { Ok(job) } else { Err(unknown) }
}

/// The names in `[rules]` of a job file that no rule has, as faults of that file.
fn unknown_in(job: &Job, file: &Source) -> Vec<JobError> {
    let file = Arc::new(file.clone());
    let unknown = job.rulings.iter().filter(|(name, _)| rule_named(name).is_none());
    let told = unknown.map(|(name, ruling)| JobError {
        file: Arc::clone(&file),
        span: ruling.at,
        message: format!("there is no rule `{name}`"),
        help: Some(suggestion(name)),
    });
    told.collect()
}
