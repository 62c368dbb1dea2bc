//! F words with all that they feed through material, and what holds each of them.

use super::super::window::{Held, lower};
use crate::job::Job;
use crate::motion::UNSTATED;
use crate::operation::{Cut, Path, Stretch};
use crate::process::{CutReading, CutReadings, laminate_of};
use crate::source::{SourceId, Span};
use crate::tune::Run;
use crate::units::{Millimetres, MmPerMin, MmPerRev, trimmed};
use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

/// Where the tool only meets or leaves the material, mm: what is not known of so short a piece holds nothing. House value.
const TOUCH: f64 = 0.05;
/// Feeds closer than this are the same, mm/min.
const SAME: f64 = 1e-6;

/// One F word and the cuts that run by it.
#[derive(Clone, Debug)]
pub struct Word {
    /// The word in the main program.
    pub span: Span,
    /// Its line, counted from 0: no change of a feed moves it.
    pub line: usize,
    /// Tool it feeds.
    pub tool: u32,
    /// Feed of the tool centre, mm/min.
    pub feed: f64,
    /// The same for each turn.
    pub per_rev: Option<MmPerRev>,
    /// Way through material, mm.
    pub length: f64,
    /// Seconds that takes, by the feeds reached where they are known.
    pub seconds: f64,
    /// Greatest feed reached, mm/min; `None` without a plan.
    pub reached: Option<f64>,
    /// What holds everything but the arcs; `None` where nothing else is fed by it.
    pub straight: Option<Held>,
    /// What holds each arc, by the first byte of its line.
    pub arcs: BTreeMap<u32, Held>,
    /// Whether an arc states it.
    pub on_arc: bool,
    /// Why nothing can be said of it.
    pub unknown: Option<String>,
}

impl Word {
    /// What holds the word as a whole.
    pub fn held(&self, margin: f64) -> Result<Held, String> {
        if let Some(why) = &self.unknown {
            return Err(why.clone());
        }
        let all = self.straight.iter().chain(self.arcs.values()).cloned();
        let lowest = all.fold(None, |held, new| Some(lower(held, new, margin)));
        lowest.ok_or_else(|| "it cuts nothing that has a feed ceiling".to_owned())
    }
}

/// The main program with what is asked of it for each stretch, found once.
struct Text<'r> {
    run: &'r Run,
    /// Where its lines end.
    ends: Vec<u32>,
    waived: BTreeMap<u32, &'r str>,
}

impl<'r> Text<'r> {
    fn of(run: &'r Run) -> Self {
        let ends = (0..).zip(run.main()).filter(|(_, byte)| **byte == b'\n').map(|(at, _)| at).collect();
        Self { run, ends, waived: run.waived_places() }
    }

    /// The line of a byte, counted from 0.
    fn line(&self, at: u32) -> usize {
        self.ends.partition_point(|end| *end < at)
    }

    /// The waiver that speaks of a stretch.
    fn waiver(&self, stretch: &Stretch) -> Option<&'r str> {
        // A cut that runs in a subprogram may end before the byte it begins at.
        let (first, last) = (stretch.first.span.start, stretch.last.span.end);
        self.waived.range(first..=last.max(first)).next().map(|(_, id)| *id)
    }
}

/// All F words that feed cuts, in order of the text.
pub fn words(run: &Run, job: &Job) -> Vec<Word> {
    let mut words: BTreeMap<u32, Word> = BTreeMap::new();
    let mut shared = BTreeSet::new();
    let text = Text::of(run);
    for cut in &run.survey.cuts {
        let readings = CutReadings::of(cut, job);
        for kind in &readings.kinds {
            for stretch in cut.stretches.get(kind.range.clone()).unwrap_or_default() {
                if stretch.first.source != SourceId::default() {
                    shared.insert(stretch.feed_at);
                } else if let Some(word) = word_of(&mut words, stretch, cut, &text) {
                    word.take(stretch, &kind.reading, cut, job, &text);
                }
            }
        }
    }
    for at in shared {
        if let Some(word) = words.get_mut(&at) {
            word.leave("moves in another file are fed by it too");
        }
    }
    words.into_values().collect()
}

/// The word that feeds a stretch; `None` where none is stated as a number.
fn word_of<'w>(
    words: &'w mut BTreeMap<u32, Word>,
    stretch: &Stretch,
    cut: &Cut,
    text: &Text<'_>,
) -> Option<&'w mut Word> {
    let at = Some(stretch.feed_at).filter(|at| *at != UNSTATED)?;
    let slot = match words.entry(at) {
        Entry::Occupied(known) => return Some(known.into_mut()),
        Entry::Vacant(slot) => slot,
    };
    let span = text.run.number_at(at, b'F')?;
    let feed = stretch.feed.filter(|feed| *feed > 0.0)?;
    let line = text.line(at);
    let per_rev = stretch.speed.filter(|speed| *speed > 0.0).map(|speed| MmPerRev(feed / speed));
    let (length, seconds, arcs) = (0.0, 0.0, BTreeMap::new());
    let (reached, straight, on_arc, unknown) = (None, None, false, None);
    let tool = cut.tool;
    Some(slot.insert(Word {
        span,
        line,
        tool,
        feed,
        per_rev,
        length,
        seconds,
        reached,
        straight,
        arcs,
        on_arc,
        unknown,
    }))
}

impl Word {
    fn leave(&mut self, why: &str) {
        self.unknown.get_or_insert_with(|| why.to_owned());
    }

    fn take(&mut self, stretch: &Stretch, reading: &CutReading, cut: &Cut, job: &Job, text: &Text<'_>) {
        let run = text.run;
        let margin = job.tuning.margin.value;
        let arc = matches!(stretch.path, Path::Arc { .. });
        self.on_arc |= arc && stretch.first.span.start <= self.span.start && self.span.end <= stretch.first.span.end;
        self.length += stretch.length;
        let feed = stretch.reached.map_or(self.feed, |(least, most, _)| f64::midpoint(least, most));
        self.seconds += if feed > 0.0 { 60.0 * stretch.length / feed } else { 0.0 };
        let most = stretch.reached.map(|(_, most, _)| most);
        self.reached = self.reached.into_iter().chain(most).reduce(f64::max);
        if cut.tool != self.tool || stretch.feed.is_none_or(|feed| (feed - self.feed).abs() > SAME) {
            return self.leave("it feeds more than one tool or means more than one feed");
        }
        if let Some(id) = text.waiver(stretch) {
            return self.leave(&format!("waiver {id} speaks of it"));
        }
        match held(stretch, reading, cut.tool, job, run) {
            Ok(None) => {}
            Ok(Some(new)) if arc => {
                let known = self.arcs.remove(&stretch.first.span.start);
                self.arcs.insert(stretch.first.span.start, lower(known, new, margin));
            }
            Ok(Some(new)) => self.straight = Some(lower(self.straight.take(), new, margin)),
            Err(_) if stretch.length <= TOUCH && stretch.path != Path::Plunge => {}
            Err(why) => self.leave(&why),
        }
    }
}

/// What holds one stretch; none in a core, of which no fibre rule speaks.
fn held(stretch: &Stretch, reading: &CutReading, tool: u32, job: &Job, run: &Run) -> Result<Option<Held>, String> {
    let laminate = laminate_of(stretch.zone, job).ok_or("no laminate is given")?;
    let known = job.tool(tool).ok_or("the tool is not in the job file")?;
    if reading.core_only || reading.layers.is_empty() {
        return Ok(None);
    }
    if stretch.path == Path::Plunge {
        return Err("it plunges into material too, for which no ceiling is stated".to_owned());
    }
    if known.edges.is_none() {
        return Err(format!("the tool's edges are not given: give `tool.{tool}.edges` in the job file"));
    }
    if stretch.speed.is_none_or(|speed| speed <= 0.0) {
        return Err("its spindle speed is not known".to_owned());
    }
    let per_tooth = reading
        .per_tooth
        .filter(|feed| feed.0 > 0.0)
        .ok_or("nobody knows on which side of its arcs the wall lies: give `workpiece.outline` in the job file")?;
    let ceiling = reading.ceiling.as_ref().ok_or_else(|| {
        format!("no ceiling is given: give `laminate.{}.trim.tooth_ceiling` in the job file", laminate.name)
    })?;
    if reading.floor.as_ref().is_some_and(|floor| floor.value > ceiling.value) {
        return Err(format!("floor and ceiling leave no feed in `{}`", laminate.name));
    }
    let wall = match stretch.path {
        Path::Arc { radius, .. } if reading.wall_factor > 1.0 => format!(
            " at the wall ({} times the feed of the centre on {})",
            trimmed(reading.wall_factor, 3),
            run.units.length(Millimetres(radius))
        ),
        _ => String::new(),
    };
    Ok(Some(Held {
        most: MmPerMin(stretch.feed.unwrap_or_default() * ceiling.value.0 / per_tooth.0),
        by: "feed ceiling",
        limit: format!("{}{wall}", run.units.per_tooth(ceiling.value)),
        origin: ceiling.origin.clone(),
        margin: true,
    }))
}
