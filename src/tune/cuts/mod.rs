//! Feeds of cuts, each F word to the fastest feed that keeps the ceilings of all it feeds, less the margin.
//!
//! An arc whose wall moves faster than the centre holds back the moves that share its F. So it first gets an F of its own,
//! and the moves behind it theirs; the next round then raises each for itself.

mod words;

pub(super) use words::words;

use super::feeds::posted;
use super::fulfil::fulfil;
use super::task::wish;
use super::window::{Held, lower};
use super::{Change, Left, Outcome, Run, Task, counted};
use crate::diagnostic::{Finding, Place, Remedy};
use crate::job::Job;
use crate::source::{SourceId, Span};
use crate::units::{MmPerMin, UnitSystem, trimmed};
use std::collections::{BTreeMap, BTreeSet};
use words::Word;

/// A gain in feed below this share is not worth a change of a proved program: a house value.
const WORTH: f64 = 0.02;
/// Most attempts of one round: the feed reached and what the check refuses lower feeds in turn. House value.
const ATTEMPTS: usize = 4;
/// Most rounds, for arcs that share the F of others: a house value.
const ROUNDS: usize = 4;

/// Raises the feeds of cuts as far as their ceilings and the machine let it.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    for _ in 0..ROUNDS {
        let round = round(outcome.next.as_ref().unwrap_or(run), task);
        outcome.left = round.left;
        let Some(next) = round.next else { break };
        outcome.changes.extend(round.changes);
        outcome.next = Some(next);
    }
    match outcome.next {
        Some(next) if next.seconds() < run.seconds() => Outcome { next: Some(next), ..outcome },
        _ => Outcome { left: outcome.left, ..Outcome::default() },
    }
}

/// F words or arcs that are raised alike.
struct Group {
    tool: u32,
    from: f64,
    to: f64,
    why: String,
    /// Whether arcs get an F of their own.
    apart: bool,
    places: BTreeSet<Span>,
    /// Lines of the words.
    lines: BTreeSet<usize>,
}

/// One attempt, and others where the machine reaches less than the new feeds ask for, or the check refuses them.
fn round(run: &Run, task: &Task<'_>) -> Outcome {
    let words = words(run, task.job);
    let mut caps: BTreeMap<usize, Held> = BTreeMap::new();
    let mut left = Vec::new();
    for word in &words {
        if let Err(why) = word.held(task.margin()) {
            left.push(Left { what: format!("feed of {}", work(word, run.units)), why });
        }
    }
    left.dedup();
    for attempt in 1..=ATTEMPTS {
        let groups = groups(&words, &caps, run.units, task);
        if groups.is_empty() {
            break;
        }
        let wishes = groups.iter().map(|group| vec![group.wish(run)]).collect();
        let (next, refused) = fulfil(run, task, wishes);
        let slower = lower_of(&groups, &refused, run.units);
        if !slower.is_empty() && attempt < ATTEMPTS {
            caps.extend(slower);
            continue;
        }
        let Some(next) = next else {
            left.extend(groups.iter().zip(refused).filter_map(|(group, why)| Some(group.stays(why?, run.units))));
            break;
        };
        let after: BTreeMap<usize, Word> =
            self::words(&next, task.job).into_iter().map(|word| (word.line, word)).collect();
        let short = short_of(&groups, &after, run.units);
        if !short.is_empty() && attempt < ATTEMPTS {
            caps.extend(short);
            continue;
        }
        let before: BTreeMap<usize, &Word> = words.iter().map(|word| (word.line, word)).collect();
        let shares: Vec<f64> = groups.iter().map(|group| group.saved(&before, &after)).collect();
        let second = (run.seconds() - next.seconds()) / shares.iter().sum::<f64>();
        let mut outcome = Outcome { next: Some(next), left, ..Outcome::default() };
        for ((group, refused), share) in groups.iter().zip(refused).zip(shares) {
            match refused {
                Some(why) => outcome.left.push(group.stays(why, run.units)),
                None => outcome.changes.push(group.change(share * second, run.units)),
            }
        }
        return outcome;
    }
    Outcome { left, ..Outcome::default() }
}

/// Lines whose new feed the machine reaches nowhere, with the feed it reaches.
fn short_of(groups: &[Group], after: &BTreeMap<usize, Word>, units: UnitSystem) -> BTreeMap<usize, Held> {
    let lines = groups.iter().flat_map(|group| group.lines.iter().map(|line| (*line, group.to)));
    let short = lines.filter_map(|(line, to)| {
        let reached = after.get(&line)?.reached?;
        (reached < to * (1.0 - WORTH)).then(|| (line, by_reached(reached, units)))
    });
    short.collect()
}

/// Lines whose new feed the check refuses, each with a feed halfway up to it.
fn lower_of(groups: &[Group], refused: &[Option<String>], units: UnitSystem) -> BTreeMap<usize, Held> {
    let refused = groups.iter().zip(refused).filter_map(|(group, why)| Some((group, why.as_ref()?)));
    let halfway = refused.map(|(group, why)| (group, f64::midpoint(group.from, group.to), why));
    let worth = halfway.filter(|(group, most, _)| *most > group.from * (1.0 + WORTH));
    let lines = worth.flat_map(|(group, most, why)| group.lines.iter().map(move |line| (*line, most, group.to, why)));
    let held = lines.map(|(line, most, to, why)| {
        let held = Held {
            most: MmPerMin(most),
            by: "trial",
            limit: format!("halfway to {}, which the check refuses,", units.feed(MmPerMin(to))),
            origin: format!("the tuned copy: {why}"),
            margin: false,
        };
        (line, held)
    });
    held.collect()
}

/// What may be raised, gathered by what becomes of what.
fn groups(words: &[Word], caps: &BTreeMap<usize, Held>, units: UnitSystem, task: &Task<'_>) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for word in words {
        let Ok(held) = word.held_now(task.job, units) else { continue };
        let most = |held: &Held| {
            let capped = caps.get(&word.line).cloned();
            capped.into_iter().fold(held.clone(), |held, cap| lower(Some(held), cap, task.margin()))
        };
        let slower = word.arcs_apart(task.margin());
        if slower.is_empty() {
            let held = most(&held);
            add(&mut groups, word, &held, (word.span, false), units, task);
        }
        for (block, held) in slower {
            add(&mut groups, word, &held, (Span::new(block, block), true), units, task);
        }
    }
    groups
}

/// Adds one word, or one arc apart, where that is worth it.
fn add(
    groups: &mut Vec<Group>,
    word: &Word,
    held: &Held,
    (place, apart): (Span, bool),
    units: UnitSystem,
    task: &Task<'_>,
) {
    let target = posted(held.target(task.margin()), units).0;
    let worth = target > word.feed * (1.0 + WORTH);
    if !worth && !apart {
        return;
    }
    let to = if worth { target } else { word.feed };
    let why = line(word.feed, to, held, task.margin(), units);
    let alike = |group: &&Group| {
        (group.tool, group.apart) == (word.tool, apart) && group.from == word.feed && group.to == to && group.why == why
    };
    let index = groups.iter().position(|group| alike(&group));
    let index = index.unwrap_or_else(|| {
        let (places, lines) = (BTreeSet::new(), BTreeSet::new());
        groups.push(Group { tool: word.tool, from: word.feed, to, why, apart, places, lines });
        groups.len() - 1
    });
    if let Some(group) = groups.get_mut(index) {
        group.places.insert(place);
        group.lines.extend((!apart).then_some(word.line));
    }
}

impl Word {
    /// What holds it, the machine's own limits and the feed it reaches included.
    pub fn held_now(&self, job: &Job, units: UnitSystem) -> Result<Held, String> {
        let margin = job.tuning.margin.value;
        let held = self.held(margin)?;
        let most = Held::by_machine(job, units);
        let short = self.reached.filter(|reached| *reached < self.feed * (1.0 - WORTH));
        let reached = short.map(|reached| by_reached(reached, units));
        Ok(most.into_iter().chain(reached).fold(held, |held, new| lower(Some(held), new, margin)))
    }

    /// Arcs that would hold back the other moves fed by the same word, and so want an F of their own.
    fn arcs_apart(&self, margin: f64) -> BTreeMap<u32, Held> {
        let Some(straight) = self.straight.as_ref().filter(|_| !self.on_arc) else { return BTreeMap::new() };
        let most = straight.target(margin).0;
        if most <= self.feed * (1.0 + WORTH) {
            return BTreeMap::new();
        }
        let slower = self.arcs.iter().filter(|(_, held)| held.target(margin).0 < most * (1.0 - WORTH));
        slower.map(|(block, held)| (*block, held.clone())).collect()
    }
}

fn by_reached(reached: f64, units: UnitSystem) -> Held {
    let feed = MmPerMin(reached);
    Held {
        most: feed,
        by: "machine",
        limit: format!("{} reached", units.feed(feed)),
        origin: "speed plan by the job file's machine.acceleration, corners and look-ahead".to_owned(),
        margin: false,
    }
}

/// How a new feed comes about.
fn line(from: f64, to: f64, held: &Held, margin: f64, units: UnitSystem) -> String {
    let less = if held.margin { format!(", less {} % margin", trimmed(100.0 * margin, 1)) } else { String::new() };
    let (from, to) = (units.feed(MmPerMin(from)), units.feed(MmPerMin(to)));
    format!(
        "{from} to {to}: {} {} is {} here{less}; source: {}",
        held.by,
        held.limit,
        units.feed(held.most),
        held.origin
    )
}

impl Group {
    fn wish(&self, run: &Run) -> Finding {
        let place = |span: &Span| Place { source: SourceId::default(), span: *span, tool: Some(self.tool), hole: None };
        Finding { places: self.places.iter().map(place).collect(), ..wish(run, &[], Remedy::Feed(MmPerMin(self.to))) }
    }

    fn subject(&self) -> String {
        counted(self.places.len(), if self.apart { "arc" } else { "F word" })
    }

    /// Seconds saved in material; what the same words feed in air is not part of it.
    fn saved(&self, before: &BTreeMap<usize, &Word>, after: &BTreeMap<usize, Word>) -> f64 {
        let saved = |line: &usize| Some(before.get(line)?.seconds - after.get(line)?.seconds);
        self.lines.iter().filter_map(saved).sum()
    }

    fn change(&self, gain: f64, units: UnitSystem) -> Change {
        let (from, to) = (units.feed(MmPerMin(self.from)), units.feed(MmPerMin(self.to)));
        let what = if self.apart {
            format!("{} of the cuts: {to} for the arc alone, {from} behind it as before", self.subject())
        } else {
            format!("{} of the cuts: {from} becomes {to}", self.subject())
        };
        let gain = Some(gain).filter(|gain| gain.is_finite() && !self.apart);
        Change { tool: Some(self.tool), holes: 0, what, why: vec![self.why.clone()], gain }
    }

    fn stays(&self, why: String, units: UnitSystem) -> Left {
        let what = format!("{} of T{} at {}", self.subject(), self.tool, units.feed(MmPerMin(self.from)));
        Left { what, why }
    }
}

/// A word as it is spoken of.
fn work(word: &Word, units: UnitSystem) -> String {
    format!("cuts with T{} at {}", word.tool, units.feed(MmPerMin(word.feed)))
}
