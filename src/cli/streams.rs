//! Standard output for results, standard error for notes, and how each may look.

use super::args::When;
use super::failure::{Failure, reason};
use crate::render::Look;
use std::env;
use std::io::{self, BufWriter, IsTerminal, Stdout, Write};

/// Width of reports that go to a file, and the most a terminal gets: longer lines are hard to read.
const FILE_WIDTH: usize = 80;
const WIDEST: usize = 110;
const NARROWEST: usize = 40;

/// The two streams of a command.
pub struct Streams {
    /// How results look.
    pub look: Look,
    /// How notes look.
    pub note_look: Look,
    out: BufWriter<Stdout>,
    failed: Option<io::Error>,
}

impl Streams {
    /// Opens the streams of this process.
    pub fn open(when: When) -> Self {
        Self {
            look: look(when, io::stdout().is_terminal()),
            note_look: look(when, io::stderr().is_terminal()),
            out: BufWriter::new(io::stdout()),
            failed: None,
        }
    }

    /// Writes a result. After the first failure the rest is dropped; [`Streams::finish`] tells.
    pub fn write(&mut self, text: &str) {
        self.write_bytes(text.as_bytes());
    }

    /// Writes a result that need not be text.
    pub fn write_bytes(&mut self, bytes: &[u8]) {
        if self.failed.is_none() {
            self.failed = self.out.write_all(bytes).err();
        }
    }

    /// Flushes. A reader that went away has what it wanted, so a broken pipe is no failure.
    pub fn finish(&mut self) -> Result<(), Failure> {
        let error = self.failed.take().or_else(|| self.out.flush().err());
        match error {
            Some(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(Failure::Output(reason(&error))),
            _ => Ok(()),
        }
    }
}

/// Writes a note to standard error, wrapped like a report; one that nobody can read is dropped.
pub fn note(text: &str) {
    let look = Look { width: width(io::stderr().is_terminal()), ..Look::default() };
    // What is drawn already, such as the mistakes of a job file, fits and stays as it is.
    let wrapped = text.lines().map(|line| match line.chars().count() > look.width {
        true => look.wrapped("", "  ", line),
        false => format!("{line}\n"),
    });
    let _ = write!(io::stderr(), "{}", wrapped.collect::<String>());
}

/// The look of one stream: colour as asked, as `NO_COLOR` says, else only in a terminal.
fn look(when: When, terminal: bool) -> Look {
    let muted = env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    let colour = match when {
        When::Always => true,
        When::Never => false,
        When::Auto => terminal && !muted && env::var_os("TERM").is_none_or(|term| term != "dumb"),
    };
    Look { width: width(terminal), colour, unicode: terminal && speaks_utf8() }
}

fn width(terminal: bool) -> usize {
    let size = terminal_size::terminal_size().filter(|_| terminal);
    size.map_or(FILE_WIDTH, |(width, _)| usize::from(width.0).clamp(NARROWEST, WIDEST))
}

/// Whether the locale is UTF-8: the first of these variables that is set decides (POSIX.1-2017, 8.2).
fn speaks_utf8() -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].iter().find_map(|name| env::var(name).ok().filter(|v| !v.is_empty()));
    locale.is_some_and(|locale| {
        let locale = locale.to_ascii_lowercase();
        locale.ends_with("utf-8") || locale.ends_with("utf8")
    })
}
