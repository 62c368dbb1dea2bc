//! Faster inside every window: speeds, feeds, exits, air and order, each a change of text that a replay has proved.

pub mod exit;
mod air;
mod cuts;
mod feeds;
pub mod fit;
mod fulfil;
mod lines;
mod links;
mod merge;
mod numbers;
mod order;
mod origin;
mod proof;
pub mod route;
mod speeds;
mod stages;
mod task;
mod times;
mod window;

pub use merge::Suggestion;
pub use task::{Run, Task};
pub use times::ToolTime;
pub use window::{Held, Operation, operations};

use crate::patch::unified;
use crate::source::Source;
use std::collections::BTreeMap;

/// What `tune` may change, in the order it does so.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Spindle speeds, with the feeds in proportion.
    Speeds,
    /// Feeds of holes and cuts.
    Feeds,
    /// Air over holes and between them.
    Air,
    /// Stages of feeds through drilled holes.
    Exit,
    /// Order of holes.
    Order,
}

impl Part {
    /// All of them, in order.
    pub const ALL: [Self; 5] = [Self::Speeds, Self::Feeds, Self::Air, Self::Exit, Self::Order];

    /// The word that names it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Speeds => "speeds",
            Self::Feeds => "feeds",
            Self::Exit => "exit",
            Self::Air => "air",
            Self::Order => "order",
        }
    }
}

/// One change that the replay has proved.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// Tool it speeds up; `None` for one that concerns several.
    pub tool: Option<u32>,
    /// Holes it concerns.
    pub holes: usize,
    /// What becomes of what.
    pub what: String,
    /// The arithmetic, and the limit that set the new value with its source.
    pub why: Vec<String>,
    /// Seconds it buys, as far as they can be told for it alone.
    pub gain: Option<f64>,
}

/// Something that stays as it was.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Left {
    /// What.
    pub what: String,
    /// Why.
    pub why: String,
}

/// One part's work.
#[derive(Clone, Debug)]
pub struct Step {
    /// Which.
    pub part: Part,
    /// What it changed.
    pub changes: Vec<Change>,
    /// What it left alone.
    pub left: Vec<Left>,
    /// Precedences that contradict each other, link by link: nothing can be put in order then.
    pub contradiction: Option<String>,
    /// Seconds of the whole program before it and after it.
    pub seconds: (f64, f64),
}

/// A program made faster, with everything that says why it may be believed.
#[derive(Debug)]
pub struct Tuned {
    /// The program as it was read.
    pub before: Run,
    /// The program as it would be.
    pub after: Run,
    /// What each part did.
    pub steps: Vec<Step>,
    /// Passes of the tuned program that one would do; none of them is written.
    pub suggestions: Vec<Suggestion>,
}

impl Tuned {
    /// The text as it would be.
    #[must_use]
    pub fn text(&self) -> &[u8] {
        self.after.main()
    }

    /// How many block numbers of the main program now stand before other moves, or nowhere.
    #[must_use]
    pub fn moved_numbers(&self) -> usize {
        numbers::moved(self.before.main(), self.after.main())
    }

    /// The unified diff from the text as it was; empty when nothing changes.
    #[must_use]
    pub fn diff(&self) -> Vec<u8> {
        let name = self.before.sources.first().map_or("", |source| source.name.as_str());
        unified(name, self.before.main(), &lines::edits(self.before.main(), self.after.main()))
    }
}

/// Most rounds through the parts: one often opens the way for another. A house value; the third seldom finds anything.
const ROUNDS: usize = 3;

/// Makes a program faster by the wanted parts, one after the other, until none gains any more; each starts from what the
/// one before has proved.
#[must_use]
pub fn tune(program: Source, parts: &[Part], task: &Task<'_>) -> Tuned {
    let before = (task.replay)(program);
    let mut now = before.clone();
    let mut steps: Vec<Step> = Vec::new();
    // The step that each part was last run for: with no change since, it would do the same again.
    let (mut changes, mut seen) = (0_usize, BTreeMap::new());
    for &part in std::iter::repeat_n(parts, ROUNDS).flatten() {
        if seen.get(&part) == Some(&changes) {
            continue;
        }
        let (step, next) = step(part, &now, task);
        if let Some(next) = next {
            changes += 1;
            now = next;
        }
        seen.insert(part, changes);
        record(&mut steps, step);
    }
    let suggestions = merge::suggestions(&now, task);
    Tuned { before, after: now, steps, suggestions }
}

/// One part's work on a program, and the program it has proved.
fn step(part: Part, now: &Run, task: &Task<'_>) -> (Step, Option<Run>) {
    (task.progress)(part.word());
    let outcome = match part {
        Part::Speeds => speeds::tune(now, task),
        Part::Feeds => feeds::tune(now, task).and_then(now, |now| cuts::tune(now, task)),
        Part::Exit => stages::tune(now, task),
        Part::Air => air::tune(now, task),
        Part::Order => order::tune(now, task),
    };
    let seconds = (now.seconds(), outcome.next.as_ref().unwrap_or(now).seconds());
    let Outcome { next, changes, left, contradiction } = outcome;
    (Step { part, changes, left, contradiction, seconds }, next)
}

/// Adds a step. Of a part run again only what it changed, or else what it still leaves alone.
fn record(steps: &mut Vec<Step>, step: Step) {
    let Some(place) = steps.iter().rposition(|known| known.part == step.part) else { return steps.push(step) };
    let Some(known) = steps.get_mut(place) else { return };
    if step.changes.is_empty() {
        let before = std::mem::take(&mut known.left);
        known.left = step.left;
        known.left.retain(|left| before.iter().any(|known| known.what == left.what));
        return;
    }
    known.left.clear();
    if known.changes.is_empty() {
        steps.remove(place);
    }
    steps.push(step);
}

/// What a part came to: the program it has proved, if it changed anything.
#[derive(Debug, Default)]
struct Outcome {
    next: Option<Run>,
    changes: Vec<Change>,
    left: Vec<Left>,
    contradiction: Option<String>,
}

impl Outcome {
    /// What more comes to from where this has got to.
    fn and_then(mut self, start: &Run, more: impl FnOnce(&Run) -> Self) -> Self {
        let more = more(self.next.as_ref().unwrap_or(start));
        self.changes.extend(more.changes);
        self.left.extend(more.left);
        Self { next: more.next.or(self.next), contradiction: self.contradiction.or(more.contradiction), ..self }
    }
}

/// A count with its noun.
fn counted(count: usize, noun: &str) -> String {
    format!("{count} {noun}{}", if count == 1 { "" } else { "s" })
}
