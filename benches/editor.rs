//! How long findings take to arrive behind an edit in a program of 20 000 lines, the wait for an edit to come to rest included.
//!
//! `cargo bench --bench editor` runs it.

mod programs;

use lastply::editor::{Disk, serve};
use lastply::job::Date;
use lsp_server::{Connection, Message, Notification, Request};
use serde_json::{Value, json};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The plate that the made-up programs drill and trim.
const JOB: &str = include_str!("throughput.job.toml");
const LINES: usize = 20_000;
const EDITS: usize = 40;
/// Bytes of a line of the trimming program, on average.
const LINE_BYTES: usize = 32;

/// A disk with one job file.
struct OneJob;

impl Disk for OneJob {
    fn read(&self, _path: &Path) -> Result<Vec<u8>, String> {
        Ok(JOB.as_bytes().to_vec())
    }

    fn job_of(&self, _program: &Path) -> Option<PathBuf> {
        Some(PathBuf::from("/shop/job.toml"))
    }

    fn subprograms(&self, _main: &Path) -> Vec<(u32, PathBuf)> {
        Vec::new()
    }

    fn today(&self) -> Option<Date> {
        None
    }
}

fn main() {
    for (name, text) in [("drilling", programs::drilling(LINES)), ("trimming", programs::trimming(LINES * LINE_BYTES))]
    {
        let text = String::from_utf8_lossy(&text).into_owned();
        let mut times = measured(&text);
        times.sort();
        let at = |share: usize| times.get(times.len() * share / 100).or(times.last()).copied().unwrap_or_default();
        let line = format!(
            "{name}: {} lines, {EDITS} edits: median {:.1} ms, 95 % {:.1} ms, longest {:.1} ms",
            text.lines().count(),
            at(50).as_secs_f64() * 1e3,
            at(95).as_secs_f64() * 1e3,
            at(100).as_secs_f64() * 1e3,
        );
        let _ = writeln!(std::io::stdout(), "{line}");
    }
}

/// Time from each edit to its findings.
fn measured(text: &str) -> Vec<Duration> {
    let (there, here) = Connection::memory();
    let server = std::thread::spawn(move || serve(&there, &OneJob));
    let tell = |method: &str, params: Value| {
        let _ = here.sender.send(Notification::new(method.to_owned(), params).into());
    };
    let heard = || {
        while let Ok(message) = here.receiver.recv() {
            if matches!(&message, Message::Notification(note) if note.method == "textDocument/publishDiagnostics") {
                return;
            }
        }
    };
    let hello = Request::new(1.into(), "initialize".to_owned(), json!({ "capabilities": {} }));
    let _ = here.sender.send(hello.into());
    let uri = "file:///shop/part.nc";
    tell(
        "textDocument/didOpen",
        json!({ "textDocument": { "uri": uri, "languageId": "nc", "version": 1, "text": text } }),
    );
    heard();
    let mut times = Vec::with_capacity(EDITS);
    for edit in 0..EDITS {
        let line = text.lines().count() / 2 + edit;
        let place = json!({ "line": line, "character": 0 });
        let change = json!([{ "range": { "start": place, "end": place }, "text": "(typed)\n" }]);
        let start = Instant::now();
        tell(
            "textDocument/didChange",
            json!({ "textDocument": { "uri": uri, "version": edit + 2 }, "contentChanges": change }),
        );
        heard();
        times.push(start.elapsed());
    }
    drop(here);
    let _ = server.join();
    times
}
