//! The most memory a check ever holds, measured in a process that does nothing else.

use std::io::Write;
use std::process::Command;

use lastply::check::check;
use lastply::source::{NoLibrary, Source};

use super::{Depth, report};

/// First argument of a process that measures itself.
const FLAG: &str = "--peak";

/// What a process is to measure, if its arguments ask for that: how deep to check, and which program.
pub fn wanted(arguments: &[String]) -> Option<(Depth, &str)> {
    let [flag, depth, path] = arguments else { return None };
    let depth = Depth::ALL.into_iter().find(|known| known.label() == depth)?;
    (flag == FLAG).then_some((depth, path.as_str()))
}

/// Checks a program and prints the most memory that this process held, kB.
pub fn tell(depth: Depth, path: &str) {
    let (Ok(text), Some((job, options))) = (std::fs::read(path), depth.task()) else { return };
    std::hint::black_box(check(Source::new(path, text), Some(&job), &NoLibrary, &options));
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let peak = status.lines().find_map(|line| line.strip_prefix("VmHWM:")).unwrap_or_default();
    report(format_args!("{}", peak.trim_end_matches("kB").trim()));
}

/// Lets another process check a program, and reports the most memory it held, where the system tells.
pub fn measure(depth: Depth, text: &[u8]) {
    let Some(peak) = of_process(depth, text) else { return };
    let share = peak / text.len() as f64;
    report(format_args!("  {:<20} holds {:.1} MB at most, {share:.2} times the program", depth.label(), peak / 1e6));
}

fn of_process(depth: Depth, text: &[u8]) -> Option<f64> {
    let mut program = tempfile::NamedTempFile::new().ok()?;
    program.write_all(text).ok()?;
    let own = std::env::current_exe().ok()?;
    let told = Command::new(own).args([FLAG, depth.label()]).arg(program.path()).output().ok()?;
    let kilobytes: f64 = String::from_utf8(told.stdout).ok()?.trim().parse().ok()?;
    Some(kilobytes * 1024.0)
}
