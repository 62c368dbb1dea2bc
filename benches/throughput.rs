//! How fast programs are read: our reader and a general-purpose parser, in one run, on one thread.
//!
//! `cargo bench` runs it; `cargo bench -- 10` makes the programs a tenth as large.

mod programs;

use std::hint::black_box;
use std::time::{Duration, Instant};

use gcode::core::{
    BlockVisitor, CommandVisitor, ControlFlow, Diagnostics, HasDiagnostics, Number, ProgramVisitor, Span,
};
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

fn main() {
    let share = std::env::args().skip(1).find_map(|argument| argument.parse::<usize>().ok()).unwrap_or(1).max(1);
    for (name, text) in
        [("trimming", programs::trimming(100_000_000 / share)), ("drilling", programs::drilling(1_000_000 / share))]
    {
        let lines = memchr::memchr_iter(b'\n', &text).count();
        report(format_args!("{name}: {:.1} MB, {lines} lines", text.len() as f64 / 1e6));
        let (ours, read) = fastest(|| reading(&text));
        line("lastply reads", &text, ours, &read);
        let (theirs, visited) = fastest(|| visitor(&text));
        line("crate gcode visits", &text, theirs, &visited);
        report(format_args!("  ratio {:.2}", theirs.as_secs_f64() / ours.as_secs_f64()));
    }
    if let Some(peak) = peak_memory() {
        report(format_args!("peak memory {peak}"));
    }
}

fn report(text: std::fmt::Arguments<'_>) {
    use std::io::Write;
    let _ = writeln!(std::io::stdout(), "{text}");
}

fn line(name: &str, text: &[u8], time: Duration, tally: &Tally) {
    let seconds = time.as_secs_f64();
    report(format_args!(
        "  {name:<20} {seconds:>7.3} s {:>7.1} MB/s {:>6.2} Mblocks/s   {} blocks, {} words, sum {:.3}",
        text.len() as f64 / seconds / 1e6,
        tally.blocks as f64 / seconds / 1e6,
        tally.blocks,
        tally.words,
        tally.sum,
    ));
}

fn fastest<T>(mut run: impl FnMut() -> T) -> (Duration, T) {
    let mut timed = || {
        let start = Instant::now();
        let result = black_box(run());
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
