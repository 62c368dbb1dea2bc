//! Two revisions of a program, matched by what the tool does and not by text.

mod act;
mod change;
mod conditions;
mod course;
mod explain;
mod findings;
mod gather;
mod names;
mod near;
mod pair;
mod passage;
mod path;
mod record;
mod shape;
mod text;
mod words;

pub use change::{
    Affected, Aspect, Change, ChangeClass, Changes, Fate, FeatureCount, FeatureKind, FindingChange, LineChange,
    MOST_FEATURES, MOST_LINES, Sameness, Spot, TextChanges, Value,
};
pub use findings::finding_changes;
pub use names::Names;

use crate::motion::{Settings, ToolTable};
use crate::program::ProgramGraph;
use record::record;

/// One revision: its programs, how they are read, and what its features are called.
#[derive(Clone, Copy)]
pub struct Revision<'a> {
    /// The program with its subprograms.
    pub programs: &'a ProgramGraph,
    /// Dialect and declared facts.
    pub settings: &'a Settings,
    /// Tool offsets.
    pub tools: &'a ToolTable,
    /// Names of holes and edges.
    pub names: &'a Names,
}

/// Holds NEW against OLD.
#[must_use]
pub fn compare(old: &Revision<'_>, new: &Revision<'_>) -> Changes {
    let (before, after) = both(|| record(old, &[]), || record(new, &[]));
    let pairing = pair::pair(&before.passages, &after.passages);
    let lexis = [&old.settings.lexis(), &new.settings.lexis()];
    let text = || text::text_changes(old.programs.sources(), new.programs.sources(), lexis);
    let machining = || gather::machining([old, new], [&before, &after], &pairing);
    let (text, (machining, same)) = both(text, machining);
    Changes { units: after.units, machining, text, same, open: open_points([old, new], [&before, &after]) }
}

/// Does two things at once.
fn both<A: Send, B: Send>(first: impl FnOnce() -> A + Send, second: impl FnOnce() -> B + Send) -> (A, B) {
    std::thread::scope(|scope| {
        let second = scope.spawn(second);
        let first = first();
        match second.join() {
            Ok(second) => (first, second),
            Err(fault) => std::panic::resume_unwind(fault),
        }
    })
}

/// Blocks nobody could follow, in either revision.
fn open_points(revisions: [&Revision<'_>; 2], records: [&record::Record; 2]) -> Vec<String> {
    let mut open = Vec::new();
    for (side, (revision, record)) in ["OLD", "NEW"].into_iter().zip(revisions.into_iter().zip(records)) {
        if let Some(at) = record.first_unread {
            let spot = gather::spot(revision, at);
            let n = spot.n.map(|n| format!(", {n}")).unwrap_or_default();
            let blocks = crate::units::counted(record.unread, "block");
            open.push(format!("{blocks} of {side} not understood, the first at {} line {}{n}", spot.file, spot.line));
        }
    }
    open
}
