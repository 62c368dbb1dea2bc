//! How fast programs are read and checked, beside a general-purpose parser that only reads; one run, one thread.
//!
//! `cargo bench` runs it; `cargo bench -- 10` makes the programs a tenth as large.

mod programs;

use std::hint::black_box;
use std::time::{Duration, Instant};

use gcode::core::{
    BlockVisitor, CommandVisitor, ControlFlow, Diagnostics, HasDiagnostics, Number, ProgramVisitor, Span,
};
use lastply::check::{Options, Report, check};
use lastply::job::{Job, NoFiles};
use lastply::source::{NoLibrary, Source};
use lastply::syntax::{Block, Blocks, Lexis, Value};

/// Times each reading is repeated; the fastest counts, for noise only ever adds.
const RUNS: usize = 5;

/// What a reading came to, so that both readings can be held against each other.
#[derive(Default)]
struct Tally {
    blocks: u64,
    words: u64,
    sum: f64,
}

/// The plate that the made-up programs drill and trim.
const JOB: &str = include_str!("throughput.job.toml");
/// What the job leaves out when no speeds are to be planned.
const ACCELERATION: &str = "acceleration = { x = 2.0, y = 2.0, z = 2.0 }";
/// What the job says besides when engagement is to be followed.
const PANEL: &str = "
[workpiece]
rectangle = { x = [-490, 490], y = [-490, 490], corner = 20 }
raw_margin = 5
";

fn main() {
    let share = std::env::args().skip(1).find_map(|argument| argument.parse::<usize>().ok()).unwrap_or(1).max(1);
    for (name, text) in
        [("trimming", programs::trimming(100_000_000 / share)), ("drilling", programs::drilling(1_000_000 / share))]
    {
        let lines = memchr::memchr_iter(b'\n', &text).count();
        report(format_args!("{name}: {:.1} MB, {lines} lines", text.len() as f64 / 1e6));
        let (ours, read) = fastest(|| (), |()| reading(&text));
        line("lastply reads", &text, ours, &read);
        let (theirs, visited) = fastest(|| (), |()| visitor(&text));
        line("crate gcode visits", &text, theirs, &visited);
        report(format_args!("  ratio of reading {:.2}", theirs.as_secs_f64() / ours.as_secs_f64()));
        let whole = checking("lastply checks", name, &text, JOB);
        report(format_args!("  ratio of checking {:.2}", theirs.as_secs_f64() / whole.as_secs_f64()));
        let bare = checking("without speed plan", name, &text, &JOB.replace(ACCELERATION, ""));
        let full = checking("with plan and panel", name, &text, &format!("{JOB}{PANEL}"));
        report(format_args!("  ratio of plan and panel {:.2}", full.as_secs_f64() / bare.as_secs_f64()));
    }
    if let Some(peak) = peak_memory() {
        report(format_args!("peak memory {peak}"));
    }
}

/// Checks a program under a job, and says how long it took.
fn checking(what: &str, name: &str, text: &[u8], job: &str) -> Duration {
    let job = Job::load(&Source::new("throughput.job.toml", job), &NoFiles).unwrap_or_default();
    let Some(options) = Options::of_job(Some(&job)) else { return Duration::ZERO };
    let program = || Source::new(name, text);
    let (time, found) = fastest(program, |program| check(program, Some(&job), &NoLibrary, &options));
    checked(what, text, time, &found);
    time
}

fn report(text: std::fmt::Arguments<'_>) {
    use std::io::Write;
    let _ = writeln!(std::io::stdout(), "{text}");
}

fn line(name: &str, text: &[u8], time: Duration, tally: &Tally) {
    let note = format!("{} words, sum {:.3}", tally.words, tally.sum);
    speed(name, text.len(), time, tally.blocks, &note);
}

fn checked(name: &str, text: &[u8], time: Duration, found: &Report) {
    let places: u64 = found.findings.iter().map(|finding| finding.places.len() as u64 + finding.more_places).sum();
    let note = format!("{} holes, {} findings at {places} places", found.coverage.holes, found.findings.len());
    speed(name, text.len(), time, found.coverage.blocks, &note);
}

fn speed(name: &str, bytes: usize, time: Duration, blocks: u64, note: &str) {
    let seconds = time.as_secs_f64();
    let (size, count) = (bytes as f64 / seconds / 1e6, blocks as f64 / seconds / 1e6);
    report(format_args!(
        "  {name:<20}{seconds:>7.3} s {size:>7.1} MB/s {count:>6.2} Mblocks/s  {blocks} blocks, {note}"
    ));
}

/// The fastest of some runs; what `prepare` makes is not timed.
fn fastest<P, T>(prepare: impl Fn() -> P, run: impl Fn(P) -> T) -> (Duration, T) {
    let timed = || {
        let prepared = prepare();
        let start = Instant::now();
        let result = black_box(run(prepared));
        (start.elapsed(), result)
    };
    let mut best = timed();
    for _ in 1..RUNS {
        let next = timed();
        if next.0 < best.0 {
            best = next;
        }
    }
    best
}

fn reading(text: &[u8]) -> Tally {
    let (mut blocks, mut block, mut tally) =
        (Blocks::new(text, 0, Lexis::default()), Block::default(), Tally::default());
    while blocks.next(&mut block) {
        tally.blocks += 1;
        for word in &block.words {
            tally.words += 1;
            if let Value::Number(number) = word.value {
                tally.sum += number.value;
            }
        }
    }
    tally
}

fn visitor(text: &[u8]) -> Tally {
    let mut visitor = Visitor::default();
    if let Ok(text) = std::str::from_utf8(text) {
        gcode::core::parse(text, &mut visitor);
    }
    visitor.tally
}

#[derive(Default)]
struct Visitor {
    tally: Tally,
    silent: Silent,
}

#[derive(Default)]
struct Silent;

impl Diagnostics for Silent {}

/// Counts one block or one command of it.
struct Counter<'a>(&'a mut Visitor);

impl HasDiagnostics for Visitor {
    fn diagnostics(&mut self) -> &mut dyn Diagnostics {
        &mut self.silent
    }
}

impl HasDiagnostics for Counter<'_> {
    fn diagnostics(&mut self) -> &mut dyn Diagnostics {
        &mut self.0.silent
    }
}

impl ProgramVisitor for Visitor {
    fn start_block(&mut self) -> ControlFlow<impl BlockVisitor + '_> {
        self.tally.blocks += 1;
        ControlFlow::Continue(Counter(self))
    }
}

impl Counter<'_> {
    fn code(&mut self, number: Number) -> ControlFlow<Counter<'_>> {
        self.0.tally.words += 1;
        self.0.tally.sum += f64::from(number.major());
        ControlFlow::Continue(Counter(self.0))
    }

    fn value(&mut self, value: &gcode::core::Value<'_>) {
        self.0.tally.words += 1;
        if let gcode::core::Value::Literal(value) = value {
            self.0.tally.sum += f64::from(*value);
        }
    }
}

impl BlockVisitor for Counter<'_> {
    fn word_address(&mut self, _letter: char, value: gcode::core::Value<'_>, _span: Span) {
        self.value(&value);
    }

    fn start_general_code(&mut self, number: Number) -> ControlFlow<impl CommandVisitor + '_> {
        self.code(number)
    }

    fn start_miscellaneous_code(&mut self, number: Number) -> ControlFlow<impl CommandVisitor + '_> {
        self.code(number)
    }

    fn start_tool_change_code(&mut self, number: Number) -> ControlFlow<impl CommandVisitor + '_> {
        self.code(number)
    }
}

impl CommandVisitor for Counter<'_> {
    fn argument(&mut self, _letter: char, value: gcode::core::Value<'_>, _span: Span) {
        self.value(&value);
    }
}

/// The most memory this process ever held, where the system tells.
fn peak_memory() -> Option<String> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    status.lines().find_map(|line| line.strip_prefix("VmHWM:")).map(|peak| peak.trim().to_owned())
}
