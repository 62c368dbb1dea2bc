//! How fast programs are read and checked, beside a general-purpose parser that only reads; one run, one thread.
//!
//! `cargo bench` runs it; `cargo bench -- 10` makes the programs a tenth as large. The check that is held against the
//! parser has a job without accelerations and without an outline; what the speed plan and the engagement in the panel
//! cost on top is told against that check, as is how cost grows with the program. Memory is that of a process of its own.

mod peak;
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
/// Bytes of a whole trimming program, and holes of a whole drilling program.
const TRIMMING: usize = 100_000_000;
const DRILLING: usize = 1_000_000;

/// How much a job asks of a check.
#[derive(Clone, Copy)]
enum Depth {
    /// Neither speeds nor engagement.
    Bare,
    /// Speeds are planned.
    Planned,
    /// Speeds are planned, and what is left of the panel is followed.
    Full,
}

impl Depth {
    const ALL: [Self; 3] = [Self::Bare, Self::Planned, Self::Full];

    fn label(self) -> &'static str {
        match self {
            Self::Bare => "lastply checks",
            Self::Planned => "with speed plan",
            Self::Full => "with plan and panel",
        }
    }

    fn task(self) -> Option<(Job, Options)> {
        let text = match self {
            Self::Bare => JOB.replace(ACCELERATION, ""),
            Self::Planned => JOB.to_owned(),
            Self::Full => format!("{JOB}{PANEL}"),
        };
        let job = Job::load(&Source::new("throughput.job.toml", text.as_str()), &NoFiles).ok()?;
        let options = Options::of_job(Some(&job))?;
        Some((job, options))
    }
}

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let Some((depth, path)) = peak::wanted(&arguments) {
        return peak::tell(depth, path);
    }
    let share = arguments.iter().find_map(|argument| argument.parse::<usize>().ok()).unwrap_or(1).max(1);
    for (name, text) in
        [("trimming", programs::trimming(TRIMMING / share)), ("drilling", programs::drilling(DRILLING / share))]
    {
        let lines = memchr::memchr_iter(b'\n', &text).count();
        report(format_args!("{name}: {:.1} MB, {lines} lines", text.len() as f64 / 1e6));
        let (ours, read) = fastest(|| (), |()| reading(&text));
        line("lastply reads", &text, ours, &read);
        let (theirs, visited) = fastest(|| (), |()| visitor(&text));
        line("crate gcode visits", &text, theirs, &visited);
        report(format_args!("  ratio of reading {:.2}", theirs.as_secs_f64() / ours.as_secs_f64()));
        let [bare, _, full] = Depth::ALL.map(|depth| checking(depth, name, &text).as_secs_f64());
        report(format_args!("  ratio of checking {:.2}", theirs.as_secs_f64() / bare));
        report(format_args!("  ratio of plan and panel {:.2}", full / bare));
        Depth::ALL.iter().for_each(|depth| peak::measure(*depth, &text));
    }
    growth(share);
}

/// What a block costs in programs of growing size.
fn growth(share: usize) {
    report(format_args!("trimming as it grows, ns a block:"));
    for tenths in [1, 3, 10] {
        let text = programs::trimming(TRIMMING / share / 10 * tenths);
        let cost = Depth::ALL.map(|depth| {
            let each = |(time, found): (Duration, Report)| time.as_secs_f64() * 1e9 / found.coverage.blocks as f64;
            format!("{} {:.0}", depth.label(), checked(depth, "trimming", &text).map_or(0.0, each))
        });
        report(format_args!("  {:>6.1} MB: {}", text.len() as f64 / 1e6, cost.join(", ")));
    }
}

/// Checks a program under a job, and says how long it took.
fn checking(depth: Depth, name: &str, text: &[u8]) -> Duration {
    let Some((time, found)) = checked(depth, name, text) else { return Duration::ZERO };
    let places: u64 = found.findings.iter().map(|finding| finding.places.len() as u64 + finding.more_places).sum();
    let note = format!("{} holes, {} findings at {places} places", found.coverage.holes, found.findings.len());
    speed(depth.label(), text.len(), time, found.coverage.blocks, &note);
    time
}

/// The fastest check, and what it found; nothing when the job is none.
fn checked(depth: Depth, name: &str, text: &[u8]) -> Option<(Duration, Report)> {
    let (job, options) = depth.task()?;
    Some(fastest(|| Source::new(name, text), |program| check(program, Some(&job), &NoLibrary, &options)))
}

fn report(text: std::fmt::Arguments<'_>) {
    use std::io::Write;
    let _ = writeln!(std::io::stdout(), "{text}");
}

fn line(name: &str, text: &[u8], time: Duration, tally: &Tally) {
    let note = format!("{} words, sum {:.3}", tally.words, tally.sum);
    speed(name, text.len(), time, tally.blocks, &note);
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
