//! The S words that a tool cuts under, and the F words that it cuts by, each with everything else that hangs on them.

use crate::motion::{
    BlockRef, CycleCall, CycleKind, Expand, FeedMode, ModalState, MotionFault, Observer, Step, StepKind, UNSTATED,
};
use crate::source::{SourceId, Span};
use crate::tune::{Run, Task};
use std::collections::{BTreeMap, BTreeSet};

/// A tool and the bits of its spindle speed, rev/min.
pub(super) type Turn = (u32, u64);

/// The words of one turn.
#[derive(Clone, Debug, Default)]
pub(super) struct Words {
    /// S and F words to change together.
    pub places: Vec<Span>,
    /// Greatest feed it cuts at, mm/min.
    pub fastest_feed: f64,
}

/// Watches a run for the words that feed moves hang on.
#[derive(Default)]
pub(super) struct Scan {
    /// Height of the entry face: what stays above it cuts nothing.
    face: f64,
    turns: BTreeMap<Turn, Seen>,
    /// Who cuts under each S word of the main program, and by each F word, by their first bytes.
    speed_users: BTreeMap<u32, BTreeSet<Turn>>,
    feed_users: BTreeMap<u32, BTreeSet<Turn>>,
}

#[derive(Default)]
struct Seen {
    speeds: BTreeSet<u32>,
    feeds: BTreeSet<u32>,
    fastest_feed: f64,
    unknown: Option<&'static str>,
}

impl Scan {
    /// The words of the whole program.
    pub fn of(run: &Run, task: &Task<'_>) -> Self {
        let mut scan = Self { face: task.job.head.entry_z.0, ..Self::default() };
        run.watch(task, &mut scan);
        scan
    }

    /// The words of one turn.
    ///
    /// # Errors
    /// Why they cannot be changed together.
    pub fn words(&self, turn: Turn, run: &Run) -> Result<Words, String> {
        let seen = self.turns.get(&turn).ok_or("it feeds nothing")?;
        if let Some(why) = seen.unknown {
            return Err(why.to_owned());
        }
        let alone =
            |users: &BTreeMap<u32, BTreeSet<Turn>>, at: &u32| users.get(at).is_some_and(|users| users.len() == 1);
        if !seen.speeds.iter().all(|at| alone(&self.speed_users, at)) {
            return Err("another tool turns by the same S".to_owned());
        }
        if !seen.feeds.iter().all(|at| alone(&self.feed_users, at)) {
            return Err("cuts at another speed are fed by the same F".to_owned());
        }
        let number = |letter: u8| {
            move |at: &u32| {
                run.number_at(*at, letter).ok_or_else(|| format!("a {} of it is computed", char::from(letter)))
            }
        };
        let speeds = seen.speeds.iter().map(number(b'S'));
        let places = speeds.chain(seen.feeds.iter().map(number(b'F'))).collect::<Result<Vec<_>, _>>()?;
        Ok(Words { places, fastest_feed: seen.fastest_feed })
    }

    fn fed(&mut self, state: &ModalState, feed: Option<f64>, cuts: bool) {
        let Some(speed) = state.speed.value.filter(|speed| *speed > 0.0) else { return };
        let turn = (state.tool.value, speed.to_bits());
        let seen = self.turns.entry(turn).or_default();
        if state.constant_surface.value
            || state.speed.at == UNSTATED
            || SourceId(state.speed.source) != SourceId::default()
        {
            seen.unknown.get_or_insert("its speed is not stated by an S in rev/min in the main program");
            return;
        }
        seen.speeds.insert(state.speed.at);
        self.speed_users.entry(state.speed.at).or_default().insert(turn);
        if !cuts {
            return;
        }
        seen.fastest_feed = feed.into_iter().fold(seen.fastest_feed, f64::max);
        let word = &state.feed_word;
        match state.feed_mode.value {
            FeedMode::PerRev => {}
            FeedMode::InverseTime => {
                seen.unknown.get_or_insert("it is fed by inverse time");
            }
            FeedMode::PerMinute if word.at == UNSTATED || SourceId(word.source) != SourceId::default() => {
                seen.unknown.get_or_insert("its feed is not stated in the main program");
            }
            FeedMode::PerMinute => {
                seen.feeds.insert(word.at);
                self.feed_users.entry(word.at).or_default().insert(turn);
            }
        }
    }
}

impl Observer for Scan {
    fn step(&mut self, step: &Step<'_>) {
        if matches!(step.kind, StepKind::Line | StepKind::ArcCw(_) | StepKind::ArcCcw(_)) {
            let heights = [step.from, step.to].map(|pose| pose.point().map(|[_, _, z]| z));
            let above = heights.iter().all(|z| z.is_some_and(|z| z >= self.face));
            self.fed(step.state, step.feed, !above);
        }
    }

    fn cycle(&mut self, call: &CycleCall, _block: BlockRef, state: &ModalState) -> Expand {
        self.fed(state, call.feed, true);
        if let (CycleKind::Tap(_), Some(speed)) = (call.code.kind(), state.speed.value) {
            let seen = self.turns.entry((state.tool.value, speed.to_bits())).or_default();
            seen.unknown.get_or_insert("it taps");
        }
        Expand::Done
    }

    fn fault(&mut self, _fault: MotionFault) {}
}

/// Whether a waiver speaks of what a tool does: what it accepts is not tuning's to change.
pub(super) fn waived(run: &Run, tool: u32) -> Option<String> {
    let holes = (0..).zip(&run.survey.holes);
    let own = holes.filter(|(_, hole)| run.survey.recipe_of(hole).is_some_and(|recipe| recipe.tool == tool));
    let own: Vec<u32> = own.map(|(index, _)| index).collect();
    run.waived(&own).or(run.waived_tool(tool)).map(str::to_owned)
}
