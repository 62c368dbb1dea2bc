//! Spindle speeds, each to the fastest that bands, machine, tool and life law allow, with the feeds in proportion.
//!
//! The chip stays what it was, so what bounds it needs no new look; raising it is the next part's work. A faster turn
//! shortens the edge's life: without a law that says by how much, a speed stays.

mod bounds;
mod words;

use super::fulfil::fulfil;
use super::task::wish;
use super::{Change, Left, Outcome, Run, Task};
use crate::diagnostic::{Finding, Place, Remedy};
use crate::operation::StrokeKind;
use crate::source::SourceId;
use crate::units::{RevPerMin, trimmed};
use bounds::Bound;
use words::{Scan, Turn, Words};

/// Room below the fastest turn that is not spoken of, as a share: a house value.
const WORTH: f64 = 0.05;
/// Seconds that a faster turn must buy: a house value.
const WORTH_SECONDS: f64 = 0.05;
/// Shares of the room that are tried, one after the other, where the check refuses more: house values.
const TRIES: [f64; 4] = [1.0, 0.75, 0.5, 0.25];

/// Raises spindle speeds as far as their bounds let it.
pub(super) fn tune(run: &Run, task: &Task<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    for (turn, bounds) in bounds::of(run, task.job) {
        let now = outcome.next.as_ref().unwrap_or(run);
        match raised(now, turn, bounds, task) {
            Ok(Some((next, change))) => {
                outcome.changes.push(change);
                outcome.next = Some(next);
            }
            Ok(None) => {}
            Err(why) => {
                outcome.left.push(Left { what: format!("speed of T{} at {}", turn.0, said(speed_of(turn))), why })
            }
        }
    }
    outcome
}

fn speed_of((_, bits): Turn) -> f64 {
    f64::from_bits(bits)
}

fn said(speed: f64) -> String {
    RevPerMin(libm::floor(speed)).to_string()
}

/// The program with one tool turning faster; `None` when it turns fast enough.
fn raised(run: &Run, turn: Turn, mut bounds: Vec<Bound>, task: &Task<'_>) -> Result<Option<(Run, Change)>, String> {
    let (number, speed) = (turn.0, speed_of(turn));
    let Some(tool) = task.job.tool(number) else { return Ok(None) };
    let worth = |to: f64| to > speed * (1.0 + WORTH);
    let lowest = |bounds: &[Bound]| {
        let target = |bound: &&Bound| bound.target(task.margin());
        bounds.iter().min_by(|a, b| target(a).total_cmp(&target(b))).cloned()
    };
    let Some(room) = lowest(&bounds).filter(|bound| worth(bound.target(task.margin()))) else { return Ok(None) };
    let allowed = format!(
        "{}{} would allow {} ({})",
        room.limit,
        less(&room, task.margin()),
        said(room.target(task.margin())),
        room.origin
    );
    let life = bounds::by_life(tool, run, task.job, run.units).map_err(|why| format!("{allowed}, but {why}"))?;
    let words = Scan::of(run, task).words(turn, run)?;
    if let Some(id) = words::waived(run, number) {
        return Err(format!("waiver {id} speaks of what it does"));
    }
    bounds.extend(life.bounds.iter().cloned());
    bounds.extend(bounds::by_feed(speed, words.fastest_feed, task.job, run.units));
    let Some(held) = lowest(&bounds) else { return Ok(None) };
    let target = held.target(task.margin());
    if !worth(target) {
        let less = less(&held, task.margin());
        return Err(format!("{allowed}, but {}{less} is {} ({})", held.limit, said(target), held.origin));
    }
    let (next, to, refused) = tried(run, turn, target, &words, task)?;
    let mut why = vec![line(&held, (speed, to), task.margin())];
    why.extend(refused.map(|why| format!("not faster than that, for {why}")));
    why.extend(life.told(tool, task.job, to, run.units));
    why.push("feeds by the minute rise with it: the chip stays as it is".to_owned());
    let change = Change {
        tool: Some(number),
        holes: holes(run, turn),
        what: format!("{} becomes {}", said(speed), said(to)),
        why,
        gain: Some(run.seconds() - next.seconds()),
    };
    Ok(Some((next, change)))
}

/// The fastest of a few turns up to `target` that holds, with what stood against a faster one.
fn tried(
    run: &Run,
    turn: Turn,
    target: f64,
    words: &Words,
    task: &Task<'_>,
) -> Result<(Run, f64, Option<String>), String> {
    let speed = speed_of(turn);
    let mut refused: Option<String> = None;
    for share in TRIES {
        let to = rounded(speed + (target - speed) * share);
        if to <= speed * (1.0 + WORTH) {
            break;
        }
        let (next, why) = fulfil(run, task, vec![vec![asked(run, turn, to, words)]]);
        let why = why.into_iter().next().flatten();
        match next {
            Some(next) if next.seconds() < run.seconds() - WORTH_SECONDS => return Ok((next, to, refused)),
            Some(_) => return Err("the program would get no faster: the machine reaches no more feed".to_owned()),
            None => {
                refused.get_or_insert(why.unwrap_or_else(|| "it could not be written".to_owned()));
            }
        }
    }
    Err(refused.unwrap_or_default())
}

fn asked(run: &Run, (tool, bits): Turn, to: f64, words: &Words) -> Finding {
    let place = |span| Place { source: SourceId::default(), span, tool: Some(tool), hole: None };
    let remedy = Remedy::Turn { from: RevPerMin(f64::from_bits(bits)), to: RevPerMin(to) };
    Finding { places: words.places.iter().map(|span| place(*span)).collect(), ..wish(run, &[], remedy) }
}

/// A speed cut to three figures, never upwards.
fn rounded(speed: f64) -> f64 {
    let step = libm::pow(10.0, (libm::floor(libm::log10(speed)) - 2.0).max(0.0));
    libm::floor(speed / step + 1e-6) * step
}

/// Holes made at a turn.
fn holes(run: &Run, (tool, bits): Turn) -> usize {
    let made = run.survey.holes.iter().filter_map(|hole| run.survey.recipe_of(hole));
    let fed = made.filter(|recipe| recipe.tool == tool);
    fed.filter(|recipe| {
        let mut strokes = recipe.strokes.iter().filter(|stroke| stroke.kind == StrokeKind::Feed);
        strokes.any(|stroke| stroke.speed.is_some_and(|speed| speed.to_bits() == bits))
    })
    .count()
}

/// How a new speed comes about.
fn line(held: &Bound, (from, to): (f64, f64), margin: f64) -> String {
    let less = if held.margin { format!(",{}", less(held, margin)) } else { String::new() };
    format!(
        "{} to {}: {} is {} here{less}; source: {}",
        said(from),
        said(to),
        held.limit,
        said(held.most.0),
        held.origin
    )
}

fn less(held: &Bound, margin: f64) -> String {
    if held.margin { format!(" less {} % margin", trimmed(100.0 * margin, 1)) } else { String::new() }
}
