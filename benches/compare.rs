//! How fast two programs of a million blocks are held against each other, checks of both included.
//!
//! `cargo bench --bench compare` runs it; `cargo bench --bench compare -- 10` makes the programs a tenth as large.

mod programs;

use lastply::check::{Options, check};
use lastply::compare::{Changes, Names, Revision, compare, finding_changes};
use lastply::job::{Job, NoFiles};
use lastply::program::ProgramGraph;
use lastply::source::{NoLibrary, Source};
use std::io::Write;
use std::time::Instant;

/// The plate that the made-up programs drill and trim.
const JOB: &str = include_str!("throughput.job.toml");
/// Bytes of a trimming program of a million blocks.
const TRIMMING: usize = 32_000_000;

fn main() {
    let share = std::env::args().skip(1).find_map(|argument| argument.parse::<usize>().ok()).unwrap_or(1).max(1);
    let job = Job::load(&Source::new("throughput.job.toml", JOB), &NoFiles).unwrap_or_default();
    for (name, text) in
        [("trimming", programs::trimming(TRIMMING / share)), ("drilling", programs::drilling(1_000_000 / share))]
    {
        let text = String::from_utf8_lossy(&text).into_owned();
        say(format_args!("{name}: {:.1} MB, {} lines", text.len() as f64 / 1e6, text.lines().count()));
        for (edit, new) in edits(&text) {
            held(edit, &text, &new, &job);
        }
    }
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    if let Some(peak) = status.lines().find_map(|line| line.strip_prefix("VmHWM:")) {
        say(format_args!("peak memory {}", peak.trim()));
    }
}

/// What becomes of a program: nothing but its numbers, one feed, one block fewer, every feed.
fn edits(text: &str) -> [(&'static str, String); 4] {
    let middle = text.len() / 2;
    let line = |from: usize| text.get(from..).and_then(|rest| rest.find('\n')).map_or(text.len(), |end| from + end + 1);
    let (start, end) = (line(middle), line(line(middle)));
    let feed = text.get(start..).and_then(|rest| rest.find('F')).map_or(start, |at| start + at);
    let with = |from: usize, to: usize, put: &str| [&text[..from], put, &text[to..]].concat();
    [
        ("renumbered", text.replace('N', "N 0")),
        ("one feed", with(feed + 1, feed + 1, "1")),
        ("one block fewer", with(start, end, "")),
        ("every feed", text.replace('F', "F1")),
    ]
}

fn held(edit: &str, old: &str, new: &str, job: &Job) {
    let Some(options) = Options::of_job(Some(job)) else { return };
    let start = Instant::now();
    let reports = std::thread::scope(|scope| {
        let work = [old, new].map(|text| {
            let options = &options;
            scope.spawn(move || {
                let source = Source::new("program.nc", text);
                let report = check(source.clone(), Some(job), &NoLibrary, options);
                let programs = ProgramGraph::read(source, &NoLibrary, &options.settings.lexis());
                let names = Names::new(&report.survey, &report.hole_names, Some(job));
                (report, programs, names)
            })
        });
        work.map(|work| work.join().ok())
    });
    let [Some(old), Some(new)] = reports else { return };
    let checked = start.elapsed();
    let (settings, tools) = (&options.settings, &options.tools);
    let changes = compare(
        &Revision { programs: &old.1, settings, tools, names: &old.2 },
        &Revision { programs: &new.1, settings, tools, names: &new.2 },
    );
    let findings = finding_changes(&old.0.findings, &new.0.findings);
    let all = start.elapsed();
    say(format_args!(
        "  {edit:<16}{:>7.3} s, of it comparing {:>7.3} s  {}, {} findings",
        all.as_secs_f64(),
        (all - checked).as_secs_f64(),
        told(&changes),
        findings.len()
    ));
}

fn told(changes: &Changes) -> String {
    let same = &changes.same;
    let text = &changes.text;
    let blocks = text.blocks.len() as u64 + text.more_blocks;
    format!(
        "{} changes, {} of {} moves the same, {} renumbered, {blocks} other",
        changes.machining.len(),
        same.same_moves,
        same.new_moves,
        text.renumbered
    )
}

fn say(text: std::fmt::Arguments<'_>) {
    let _ = writeln!(std::io::stdout(), "{text}");
}
