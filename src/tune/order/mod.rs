//! The order of holes: rows of stops that may change places, the quickest way through each, and its text.

mod pins;
mod proof;
mod scan;
mod solve;
mod sorted;
mod stops;
mod tools;
pub(super) mod travel;
mod work;
mod write;

use super::{Change, Left, Outcome, Run, Task, counted};
use crate::source::{Source, SourceId};
use crate::syntax::{Block, Blocks, Lexis};
use pins::Pins;
use scan::Scan;
use sorted::{Sorted, WORTH, height_between, order_of};
use std::collections::{BTreeMap, BTreeSet};
use stops::{Row, rows};

/// Holes of a row that take long enough to say so.
const LONG: usize = 300;

/// Changes tools seldom, as far as the work allows, then visits the holes of each row by least rapid time.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    if jumps(run.main()) {
        let (what, why) = ("order of the holes".to_owned(), "the program jumps to block numbers".to_owned());
        return Outcome { left: vec![Left { what, why }], ..Outcome::default() };
    }
    let tools = tools::tune(run, task);
    if tools.contradiction.is_some() {
        return tools;
    }
    let mut outcome = holes(tools.next.as_ref().unwrap_or(run), task);
    outcome.changes.splice(0..0, tools.changes);
    outcome.left.splice(0..0, tools.left);
    outcome.next = outcome.next.or(tools.next);
    outcome
}

/// Puts the holes of each row into the order with the least rapid time.
fn holes(run: &Run, task: &Task<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    let (rows, pins) = (all_rows(run, task), Pins::of(run, task.job));
    outcome.left.extend(alone(run, &rows));
    let mut sorted = Vec::new();
    for (number, row) in rows.iter().enumerate() {
        if row.stops.len() >= LONG {
            let holes = counted(row.stops.len(), "hole");
            (task.progress)(&format!("order: row {} of {}, {holes}", number + 1, rows.len()));
        }
        match Sorted::of(row, &pins.within(row), run, task) {
            Ok(new) => sorted.push(new),
            Err(why) => outcome.left.push(Left { what: order_of(row, run), why }),
        }
    }
    settle(run, task, sorted, &|refused| refused.with_last_kept(&pins.within(refused.row), run, task), outcome)
}

/// Keeps the tool low between the holes of each row, in their present order.
pub(super) fn lower(run: &Run, task: &Task<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    let rows = all_rows(run, task);
    let mut lowered = Vec::new();
    for row in &rows {
        match Sorted::low(row, run, task) {
            Ok(Some(new)) => lowered.push(new),
            Ok(None) => {}
            Err(why) => outcome.left.push(Left { what: height_between(row, run), why }),
        }
    }
    settle(run, task, lowered, &|_| None, outcome)
}

/// Takes up those rows whose new text holds.
fn settle<'a>(
    run: &Run,
    task: &Task<'_>,
    rows: Vec<Sorted<'a>>,
    other: Other<'_, 'a>,
    mut outcome: Outcome,
) -> Outcome {
    let (proved, refused) = prove(run, task, rows, other);
    outcome.left.extend(refused);
    if proved.is_empty() {
        return outcome;
    }
    let next = replay(run, task, &proved);
    let saved = run.seconds() - next.seconds();
    if saved < WORTH {
        let why = || "the program as a whole would not gain by it".to_owned();
        outcome.left.extend(proved.into_iter().map(|row| Left { what: row.name, why: why() }));
        return outcome;
    }
    outcome.changes = proved.iter().map(|row| row.change(run.units)).collect();
    share(&mut outcome.changes, saved);
    Outcome { next: Some(next), ..outcome }
}

/// Shares out what the replay saves by what each row saves alone: where one row ends is where the next one comes from.
fn share(changes: &mut [Change], saved: f64) {
    let sum: f64 = changes.iter().filter_map(|change| change.gain).sum();
    for change in changes {
        change.gain = change.gain.map(|gain| gain * saved / sum).filter(|gain| gain.is_finite());
    }
}

/// The rows of the main program.
fn all_rows(run: &Run, task: &Task<'_>) -> Vec<Row> {
    let mut scan = Scan::default();
    run.watch(task, &mut scan);
    rows(run.main(), &scan, &run.survey)
}

/// Whether some block number may be jumped to, so that blocks cannot change places.
pub(super) fn jumps(bytes: &[u8]) -> bool {
    let mut blocks = Blocks::new(bytes, 0, Lexis::default());
    let mut block = Block::default();
    while blocks.next(&mut block) {
        let code = |value: f64| {
            block.words.iter().any(|word| word.letter == b'M' && crate::patch::number(word) == Some(value))
        };
        let target = block.word(b'P').is_some() || block.word(b'Q').is_some();
        if block.control.is_some() || code(97.0) || (code(99.0) && target) || (code(98.0) && block.word(b'Q').is_some())
        {
            return true;
        }
    }
    false
}

/// Holes that stand in no row, by tool and reason.
fn alone(run: &Run, rows: &[Row]) -> Vec<Left> {
    let in_rows: BTreeSet<u32> = rows.iter().flat_map(|row| row.stops.iter().map(|stop| stop.hole)).collect();
    let mut left: BTreeMap<(u32, &str), usize> = BTreeMap::new();
    for (_, hole) in (0..).zip(&run.survey.holes).filter(|(index, _)| !in_rows.contains(index)) {
        let tool = run.survey.recipe_of(hole).map_or(0, |recipe| recipe.tool);
        let called = hole.source != SourceId::default()
            || run.survey.traces.get(hole.trace.0 as usize).is_some_and(|trace| !trace.calls.is_empty());
        let why = if called {
            "they are made in a subprogram"
        } else {
            "something other than moves of one hole, or a comment, stands in their blocks or between them"
        };
        *left.entry((tool, why)).or_default() += 1;
    }
    let named = |((tool, why), holes): ((u32, &str), usize)| Left {
        what: format!("order of {} with T{tool}", counted(holes, "hole")),
        why: why.to_owned(),
    };
    left.into_iter().map(named).collect()
}

/// Another text for a row whose first one did not hold.
type Other<'f, 'a> = &'f dyn Fn(&Sorted<'a>) -> Option<Sorted<'a>>;

/// Those rows whose new text holds: all together, else one by one, each with another text where the first does not.
fn prove<'a>(
    run: &Run,
    task: &Task<'_>,
    sorted: Vec<Sorted<'a>>,
    other: Other<'_, 'a>,
) -> (Vec<Sorted<'a>>, Vec<Left>) {
    if sorted.is_empty() || proof::same_work(run, &replay(run, task, &sorted), task).is_ok() {
        return (sorted, Vec::new());
    }
    let mut kept: Vec<Sorted<'a>> = Vec::new();
    let mut left = Vec::new();
    for row in sorted {
        let what = row.name.clone();
        let mut next = Some(row);
        while let Some(row) = next.take() {
            kept.push(row);
            let Err(why) = proof::same_work(run, &replay(run, task, &kept), task) else { break };
            next = kept.pop().and_then(|refused| other(&refused));
            if next.is_none() {
                left.push(Left { what: what.clone(), why });
            }
        }
    }
    (kept, left)
}

/// The program with some rows in their new order.
fn replay(run: &Run, task: &Task<'_>, rows: &[Sorted<'_>]) -> Run {
    let bytes = run.main();
    let mut text = Vec::with_capacity(bytes.len() + 1024);
    let mut at = 0_usize;
    for sorted in rows {
        let (start, end) = (sorted.row.span.start as usize, sorted.row.span.end as usize);
        text.extend_from_slice(bytes.get(at..start).unwrap_or_default());
        text.extend_from_slice(&sorted.text);
        at = end;
    }
    text.extend_from_slice(bytes.get(at..).unwrap_or_default());
    let name = run.sources.first().map_or("", |source| source.name.as_str());
    (task.replay)(Source::new(name, text))
}
