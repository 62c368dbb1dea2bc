//! The baseline on disk: read before the run, held against each program, grown only when asked.

use super::args::BaselineArgs;
use super::failure::Failure;
use super::files::{read, shown_name};
use super::write;
use crate::baseline::{Baseline, Entry, Judgement};
use crate::check::Report;
use crate::diagnostic::Status;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Component, Path, PathBuf};

/// A baseline file in use.
pub struct Known<'a> {
    args: &'a BaselineArgs,
    path: &'a Path,
    folder: PathBuf,
    baseline: Baseline,
}

/// What became of the baseline.
#[derive(Debug, Default)]
pub struct Told {
    /// Entries that nothing answers to, in words.
    pub stale: Vec<String>,
    /// What was written.
    pub notes: Vec<String>,
}

impl<'a> Known<'a> {
    /// Reads the file, if one was named. One that cannot be read ends the run: everything in it would count as new, or
    /// worse. Only `--accept-new` may begin one.
    pub fn open(args: &'a BaselineArgs) -> Result<Option<Self>, Failure> {
        let Some(path) = args.baseline.as_deref() else { return Ok(None) };
        let parent = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let folder = fs::canonicalize(parent).map_err(|error| Failure::read(path, &error))?;
        let baseline = if args.accept_new && !path.exists() { Baseline::default() } else { load(path)? };
        Ok(Some(Self { args, path, folder, baseline }))
    }

    /// Holds a report against it. What is accepted by this very run no longer stands.
    pub fn judge(&self, program: &Path, report: &mut Report) -> Judgement {
        let judgement = self.baseline.judge(&self.name(program), report);
        if self.args.accept_new {
            let open = report.findings.iter_mut().filter(|finding| finding.status == Status::Open);
            open.for_each(|finding| finding.status = Status::Known);
        }
        judgement
    }

    /// Writes what was asked for, and tells what is stale. Entries of programs that were not looked at stay.
    pub fn close(mut self, judgements: &[Judgement], programs: &[PathBuf]) -> Result<Told, Failure> {
        let looked_at: BTreeSet<String> = programs.iter().map(|program| self.name(program)).collect();
        let gone = |program: &str| !looked_at.contains(program) && !self.folder.join(program).exists();
        let mut stale = self.baseline.of_gone(gone);
        stale.extend(judgements.iter().flat_map(|judgement| judgement.stale.iter().cloned()));
        let new: Vec<(Entry, u64)> = judgements.iter().flat_map(|judgement| judgement.new.iter().cloned()).collect();
        let mut told = Told::default();
        let before = self.baseline.clone();
        if self.args.accept_new {
            self.baseline.accept(&new);
            told.notes.push(format!("`{}` took in {} new", self.path.display(), total(&new)));
        }
        if self.args.drop_stale {
            self.baseline.forget(&stale);
            told.notes.push(format!("`{}` let go of {} stale", self.path.display(), total(&stale)));
        } else {
            told.stale = stale.iter().map(|(entry, count)| worded(entry, *count)).collect();
        }
        if self.baseline != before || (self.args.accept_new && !self.path.exists()) {
            let text = self.baseline.text().map_err(Failure::Unusable)?;
            write::replace(self.path, text.as_bytes())?;
        }
        Ok(told)
    }

    /// The name the baseline knows a program by: the way from its own folder, so that it does not matter where the command
    /// runs.
    fn name(&self, program: &Path) -> String {
        fs::canonicalize(program).map_or_else(|_| shown_name(program), |real| way(&self.folder, &real))
    }
}

fn load(path: &Path) -> Result<Baseline, Failure> {
    let unusable = |why: String| Failure::Unusable(format!("cannot use the baseline `{}`: {why}", path.display()));
    let text = String::from_utf8(read(path)?).map_err(|_| unusable("it is not text in UTF-8".to_owned()))?;
    Baseline::read(&text).map_err(unusable)
}

fn total(entries: &[(Entry, u64)]) -> u64 {
    entries.iter().map(|(_, count)| count).sum()
}

fn worded(entry: &Entry, count: u64) -> String {
    if count > 1 { format!("{entry} ({count} times)") } else { entry.to_string() }
}

/// The way from a folder to a file, with forward slashes.
fn way(from: &Path, to: &Path) -> String {
    let (from, to): (Vec<Component<'_>>, Vec<Component<'_>>) = (from.components().collect(), to.components().collect());
    let shared = from.iter().zip(&to).take_while(|(one, other)| one == other).count();
    let up = from.iter().skip(shared).map(|_| "..".to_owned());
    let down = to.iter().skip(shared).map(|part| part.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<_>>().join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ways_go_up_and_down() {
        assert_eq!(way(Path::new("/shop/base"), Path::new("/shop/base/a/b.nc")), "a/b.nc");
        assert_eq!(way(Path::new("/shop/base"), Path::new("/shop/jobs/b.nc")), "../jobs/b.nc");
    }
}
