//! What tuning came to: tables before and after, every change with its limit, and what was left alone.

use super::look::Look;
use super::times::duration;
use super::{CAUTION, counted};
use crate::diagnostic::Status;
use crate::job::Job;
use crate::tune::{Change, Operation, Step, Suggestion, ToolTime, Tuned, operations};
use crate::units::trimmed;
use serde::Serialize;

/// What every tuned program says of itself.
const PROPOSAL: &str = "A tuned program is a proposal. It was applied to a copy, read again and checked again; that \
    proves what the text says, not that the cut will be good. Prove it out as any change of the program.";

/// The report for people.
#[must_use]
pub fn tune_report(tuned: &Tuned, job: &Job, look: &Look) -> String {
    let mut text = String::new();
    for step in &tuned.steps {
        text.push_str(&step_text(step, job, look));
    }
    for suggestion in &tuned.suggestions {
        text.push_str(&suggestion_text(suggestion, job, look));
    }
    text.push('\n');
    text.push_str(&times(tuned, job));
    text.push('\n');
    text.push_str(&limits(tuned, job, look));
    let open = tuned.before.findings.iter().filter(|finding| finding.status == Status::Open).count();
    if open > 0 {
        let findings = counted(open as u64, "finding");
        text.push_str(&look.wrapped(
            "  ",
            "  ",
            &format!("{findings} stood before and were left to `check` and `patch`"),
        ));
    }
    if let Some(moved) = moved_numbers(tuned) {
        text.push_str(&look.wrapped("  ", "  ", &moved));
    }
    text + &look.wrapped("  ", "  ", PROPOSAL)
}

/// What whoever restarts by a block number has to know.
fn moved_numbers(tuned: &Tuned) -> Option<String> {
    let subject = match tuned.moved_numbers() {
        0 => return None,
        1 => "1 block number stands".to_owned(),
        count => format!("{count} block numbers stand"),
    };
    Some(format!(
        "{subject} before other moves than they did: no restart list of the old program holds, print a new `sheet`"
    ))
}

fn step_text(step: &Step, job: &Job, look: &Look) -> String {
    let (before, after) = step.seconds;
    let word = step.part.word();
    if step.changes.is_empty() && step.left.is_empty() {
        return look.led(word, "nothing to gain");
    }
    let saved = format!("{} to {}, {} saved", duration(before), duration(after), duration(before - after));
    let mut text = look.led(word, if step.changes.is_empty() { "nothing changed" } else { &saved });
    for change in &step.changes {
        text.push_str(&look.led("", &change_line(change, job)));
        for why in &change.why {
            text.push_str(&look.wrapped("           ", "           ", why));
        }
    }
    for left in &step.left {
        text.push_str(&look.led("", &format!("left alone: {}, because {}", left.what, left.why)));
    }
    text
}

fn suggestion_text(suggestion: &Suggestion, job: &Job, look: &Look) -> String {
    let saves = suggestion.seconds.map_or_else(String::new, |gain| format!(", {} of feeding less", duration(gain)));
    let line = format!("not written: {}, {}{saves}", label(suggestion.tool, job), suggestion.what);
    let why = suggestion.why.iter().map(|why| look.wrapped("           ", "           ", why));
    look.led("merge", &line) + &why.collect::<String>()
}

fn change_line(change: &Change, job: &Job) -> String {
    let tool = change.tool.map_or_else(String::new, |tool| format!("{}, ", label(tool, job)));
    let holes = if change.holes > 0 { format!("{}: ", counted(change.holes as u64, "hole")) } else { String::new() };
    let gain = change.gain.map_or_else(String::new, |gain| format!(", {} saved", duration(gain)));
    format!("{tool}{holes}{}{gain}", change.what)
}

fn label(tool: u32, job: &Job) -> String {
    let named = job.tool(tool).map(|tool| tool.label.as_str()).filter(|label| !label.is_empty());
    named.map_or_else(|| format!("T{tool}"), |label| format!("T{tool} {label}"))
}

/// The table of times: one line a tool, before and after.
fn times(tuned: &Tuned, job: &Job) -> String {
    let before = tuned.before.tool_times(&job.machine);
    let after = tuned.after.tool_times(&job.machine);
    let mut text =
        format!("  {:<28}{:>12}{:>12}{:>12}{:>14}\n", "before > after", "cutting", "rapids", "changes", "total");
    let pair = |old: f64, new: f64| format!("{}>{}", seconds(old), seconds(new));
    for old in &before {
        let new = after.iter().find(|new| new.tool == old.tool).copied().unwrap_or_default();
        text.push_str(&row(&label(old.tool, job), old, &new, &pair));
    }
    let sum = |times: &[ToolTime]| {
        times.iter().fold(ToolTime::default(), |sum, more| ToolTime {
            tool: 0,
            cutting: sum.cutting + more.cutting,
            rapid: sum.rapid + more.rapid,
            changes: sum.changes + more.changes,
        })
    };
    text.push_str(&row("all tools", &sum(&before), &sum(&after), &pair));
    let standing = |run: &crate::tune::Run| run.survey.times.dwell + run.survey.times.spin_up;
    let (old, new) = (standing(&tuned.before), standing(&tuned.after));
    if old + new > 0.0 {
        text.push_str(&format!("  {:<64}{:>14}\n", "dwells and waiting for the spindle", pair(old, new)));
    }
    let (old, new) = (tuned.before.seconds(), tuned.after.seconds());
    text.push_str(&format!("  {:<64}{:>14}\n", "program", pair(old, new)));
    let planned = tuned.after.survey.times.planned;
    if !planned {
        text.push_str("  seconds; lower bounds: the job file does not state all rates and accelerations\n");
    } else {
        text.push_str("  seconds, planned with the job file's rates and accelerations\n");
    }
    text
}

fn row(name: &str, old: &ToolTime, new: &ToolTime, pair: &dyn Fn(f64, f64) -> String) -> String {
    let name: String = name.chars().take(27).collect();
    let cells = [pair(old.cutting, new.cutting), pair(old.rapid, new.rapid), pair(old.changes, new.changes)];
    let [cutting, rapid, changes] = cells;
    format!("  {name:<28}{cutting:>12}{rapid:>12}{changes:>12}{:>14}\n", pair(old.total(), new.total()))
}

fn seconds(value: f64) -> String {
    trimmed(value, if value < 100.0 { 1 } else { 0 })
}

/// What limits each operation now.
fn limits(tuned: &Tuned, job: &Job, look: &Look) -> String {
    let mut text = String::new();
    for operation in operations(&tuned.after, job) {
        text.push_str(&look.led("limit", &limit_line(&operation, tuned, job)));
    }
    text
}

fn limit_line(operation: &Operation, tuned: &Tuned, job: &Job) -> String {
    let units = tuned.after.units;
    let per_rev = operation.per_rev.map_or_else(String::new, |feed| format!(", {}", units.per_rev(feed)));
    let work = match operation.holes {
        0 => format!("{} of cut", units.length(operation.cut)),
        holes => counted(holes as u64, "hole"),
    };
    let start = format!("{}, {work} at {}{per_rev}: ", label(operation.tool, job), units.feed(operation.feed));
    match &operation.held {
        Ok(held) => {
            let share = trimmed(100.0 * operation.feed.0 / held.most.0, 0);
            format!("{start}{} {}, of which it uses {share} %; source: {}", held.by, held.limit, held.origin)
        }
        Err(why) => format!("{start}not known, because {why}"),
    }
}

#[derive(Serialize)]
struct TuneOut<'a> {
    schema_version: u32,
    caution: &'static str,
    proposal: &'static str,
    program: &'a str,
    seconds_before: f64,
    seconds_after: f64,
    /// Whether the times are planned; else they are lower bounds.
    planned: bool,
    steps: Vec<StepOut<'a>>,
    /// Passes that one would do; not part of the diff.
    suggestions: Vec<SuggestionOut<'a>>,
    /// Block numbers that stand before other moves than they did: restarts of the old program hold no more.
    moved_block_numbers: usize,
    tools: Vec<ToolOut>,
    limits: Vec<LimitOut>,
    /// Bytes that are not UTF-8 are replaced here; `diff_exact` then says false.
    diff: String,
    diff_exact: bool,
}

#[derive(Serialize)]
struct StepOut<'a> {
    part: &'static str,
    seconds_before: f64,
    seconds_after: f64,
    changes: Vec<ChangeOut<'a>>,
    left: Vec<LeftOut<'a>>,
}

#[derive(Serialize)]
struct SuggestionOut<'a> {
    tool: u32,
    what: &'a str,
    why: &'a [String],
    seconds: Option<f64>,
}

#[derive(Serialize)]
struct ChangeOut<'a> {
    tool: Option<u32>,
    holes: usize,
    what: &'a str,
    why: &'a [String],
    seconds: Option<f64>,
}

#[derive(Serialize)]
struct LeftOut<'a> {
    what: &'a str,
    why: &'a str,
}

#[derive(Serialize)]
struct TimesOut {
    cutting: f64,
    rapid: f64,
    changes: f64,
    total: f64,
}

#[derive(Serialize)]
struct ToolOut {
    tool: u32,
    before: TimesOut,
    after: TimesOut,
}

#[derive(Serialize)]
struct LimitOut {
    tool: u32,
    holes: usize,
    cut_mm: f64,
    feed_mm_min: f64,
    feed_mm_rev: Option<f64>,
    held_by: Option<&'static str>,
    limit: Option<String>,
    most_mm_min: Option<f64>,
    origin: Option<String>,
    unknown: Option<String>,
}

/// The same as one JSON document.
#[must_use]
pub fn tune_json(tuned: &Tuned, job: &Job) -> String {
    let diff = tuned.diff();
    let before = tuned.before.tool_times(&job.machine);
    let after = tuned.after.tool_times(&job.machine);
    let time = |times: &[ToolTime], tool: u32| times.iter().find(|time| time.tool == tool).copied().unwrap_or_default();
    let document = TuneOut {
        schema_version: 1,
        caution: CAUTION,
        proposal: PROPOSAL,
        program: tuned.before.sources.first().map_or("", |source| source.name.as_str()),
        seconds_before: tuned.before.seconds(),
        seconds_after: tuned.after.seconds(),
        planned: tuned.after.survey.times.planned,
        steps: tuned.steps.iter().map(step_out).collect(),
        suggestions: tuned.suggestions.iter().map(suggestion_out).collect(),
        moved_block_numbers: tuned.moved_numbers(),
        tools: before
            .iter()
            .map(|old| ToolOut { tool: old.tool, before: times_out(old), after: times_out(&time(&after, old.tool)) })
            .collect(),
        limits: operations(&tuned.after, job).into_iter().map(limit_out).collect(),
        diff: String::from_utf8_lossy(&diff).into_owned(),
        diff_exact: std::str::from_utf8(&diff).is_ok(),
    };
    // Strings and numbers in structs and lists cannot fail to serialise.
    serde_json::to_string_pretty(&document).unwrap_or_default() + "\n"
}

fn step_out(step: &Step) -> StepOut<'_> {
    let changes = step.changes.iter().map(|one| ChangeOut {
        tool: one.tool,
        holes: one.holes,
        what: &one.what,
        why: &one.why,
        seconds: one.gain,
    });
    StepOut {
        part: step.part.word(),
        seconds_before: step.seconds.0,
        seconds_after: step.seconds.1,
        changes: changes.collect(),
        left: step.left.iter().map(|left| LeftOut { what: &left.what, why: &left.why }).collect(),
    }
}

fn suggestion_out(suggestion: &Suggestion) -> SuggestionOut<'_> {
    let Suggestion { tool, what, why, seconds } = suggestion;
    SuggestionOut { tool: *tool, what, why, seconds: *seconds }
}

fn times_out(time: &ToolTime) -> TimesOut {
    TimesOut { cutting: time.cutting, rapid: time.rapid, changes: time.changes, total: time.total() }
}

fn limit_out(operation: Operation) -> LimitOut {
    let Operation { tool, holes, cut, feed, per_rev, held } = operation;
    let (held, unknown) = match held {
        Ok(held) => (Some(held), None),
        Err(why) => (None, Some(why)),
    };
    LimitOut {
        tool,
        holes,
        cut_mm: cut.0,
        feed_mm_min: feed.0,
        feed_mm_rev: per_rev.map(|feed| feed.0),
        held_by: held.as_ref().map(|held| held.by),
        limit: held.as_ref().map(|held| held.limit.clone()),
        most_mm_min: held.as_ref().map(|held| held.most.0),
        origin: held.map(|held| held.origin),
        unknown,
    }
}
