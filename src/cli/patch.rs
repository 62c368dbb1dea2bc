//! `lastply patch`: a proved patch as a diff; files are written only when asked for.

use super::args::{PatchArgs, PatchFormat};
use super::failure::Failure;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use super::{files, write};
use crate::check::{self, Report};
use crate::diagnostic::Severity;
use crate::patch::{Inputs, Patch};
use crate::render::{self, Verdict};
use crate::source::{Library, Source, SourceId};
use std::path::{Path, PathBuf};

/// Proposes a patch. Exit code 1 when an error stays that it does not cure, 3 when not everything could be checked.
pub fn run(args: &PatchArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let source = files::read_program(&args.file)?;
    let mut notes = Vec::new();
    let given = Given::for_program(&args.file, &args.setting, &streams.note_look, &mut notes)?;
    notes.iter().for_each(|line| note(line));
    let folder = Folder::of(&args.file);
    let check = |source, library: &dyn Library| check::check(source, given.job.as_ref(), library, &given.options);
    let report = check(source, &folder);
    let inputs = report.patch_inputs(given.job.as_ref(), &folder, &given.options);
    let inputs = Inputs { share_strokes: args.share, ..inputs };
    let patch = Patch::propose(&inputs, &|source, library| check(source, library).into());
    match args.format {
        PatchFormat::Diff => streams.write_bytes(&patch.diff()),
        PatchFormat::Json => {
            let program = report.sources.first().map_or("", |source| source.name.as_str());
            streams.write(&render::patch_json(&patch, program, &report.findings));
        }
    }
    note(render::patch_notes(&patch, &report.findings, &streams.note_look).trim_end());
    store(args, &patch, &report.sources)?;
    Ok(exit(&patch, &report))
}

/// Writes the patched files where the arguments say.
fn store(args: &PatchArgs, patch: &Patch, sources: &[Source]) -> Result<(), Failure> {
    if let Some(out) = &args.write {
        if patch.patched().any(|(id, ..)| id != SourceId::default()) {
            let why = "the patch changes subprograms in other files; apply the diff, or use --in-place";
            return Err(Failure::Unusable(why.to_owned()));
        }
        let whole = sources.first().map_or(&[][..], |source| &source.bytes);
        let bytes = patch.patched().next().map_or(whole, |(_, _, bytes)| bytes);
        return write::replace(out, bytes);
    }
    if args.in_place {
        for (id, name, bytes) in patch.patched() {
            let path = path_of(&args.file, id, name);
            let before = files::read(&path)?;
            if sources.get(usize::from(id.0)).is_none_or(|source| source.bytes != before) {
                let path = path.display();
                return Err(Failure::Unusable(format!("`{path}` changed while it was checked; nothing was written")));
            }
            let backup = write::back_up(&path, &before)?;
            write::replace(&path, bytes)?;
            note(&format!("wrote `{}`; as it was: `{}`", path.display(), backup.display()));
        }
    }
    Ok(())
}

/// Where a source stands: the main program where it was given, a subprogram beside it.
fn path_of(main: &Path, id: SourceId, name: &str) -> PathBuf {
    if id == SourceId::default() {
        return main.to_owned();
    }
    main.with_file_name(name.rsplit('/').next().unwrap_or(name))
}

fn exit(patch: &Patch, report: &Report) -> u8 {
    let left = patch.verdict().left.iter().filter_map(|(index, _)| report.findings.get(*index));
    let failed = left.into_iter().any(|finding| finding.severity == Severity::Error);
    Verdict { failed, ..Verdict::of(report, Severity::Error) }.exit()
}
