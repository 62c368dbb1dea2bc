//! Ways from one place to another: from a call to its subprogram, from a program to its job file, from that to its libraries.

use super::desk::{Desk, file_name, straight};
use super::study::Study;
use super::text::Text;
use crate::program::{Call, CallKind, ProgramGraph};
use crate::source::{SourceId, Span};
use lsp_types::{DocumentLink, Location};
use std::path::Path;
use toml::de::{DeTable, DeValue};

/// Where the call on a line leads.
pub fn definition(study: &Study, id: SourceId, line: Span, desk: &Desk<'_>) -> Option<Location> {
    let judged = study.judged()?;
    let programs = judged.programs(&desk.library(&study.path));
    let here = |call: &&Call| call.source == id && line.start <= call.block.start && call.block.start <= line.end;
    let (source, start) = target(&programs, programs.calls().iter().find(here)?)?;
    let text = judged.texts.get(usize::from(source.0))?;
    study.location(source, text.line_at(start), desk)
}

/// Source and first byte of what a call leads to.
fn target(programs: &ProgramGraph, call: &Call) -> Option<(SourceId, u32)> {
    match call.kind {
        CallKind::Program | CallKind::Macro => {
            let program = programs.program(call.target?)?;
            let start = if program.heading.is_empty() { program.start } else { program.heading.start };
            Some((program.source, start))
        }
        CallKind::Sequence | CallKind::ReturnTo => {
            let at = programs.sequence(call.source, call.block.start, call.number?)?;
            Some((call.source, at))
        }
    }
}

/// The way from a program to its job file: it stands on the first line that says something.
pub fn of_program(study: &Study, text: &Text, desk: &Desk<'_>) -> Vec<DocumentLink> {
    let Some((job, target)) = study.job_path.as_ref().and_then(|job| Some((job, desk.uri(job)?))) else {
        return Vec::new();
    };
    let blank = |byte: &u8| byte.is_ascii_whitespace() || *byte == 0 || *byte == b'%';
    let first = text.bytes.iter().position(|byte| !blank(byte)).unwrap_or(0);
    let range = text.range(text.line_at(u32::try_from(first).unwrap_or(0)), desk.columns);
    vec![DocumentLink {
        range,
        target: Some(target),
        tooltip: Some(format!("job file {}", file_name(job))),
        data: None,
    }]
}

/// The ways from a job file to the libraries it uses.
pub fn of_job(path: &Path, text: &Text, desk: &Desk<'_>) -> Vec<DocumentLink> {
    let Ok(toml) = std::str::from_utf8(&text.bytes) else { return Vec::new() };
    let (table, _) = DeTable::parse_recoverable(toml);
    let Some(DeValue::Array(named)) = table.get_ref().get("use").map(|value| value.get_ref()) else {
        return Vec::new();
    };
    let link = |name: &toml::Spanned<DeValue<'_>>| {
        let place = name.span();
        let file = straight(&path.parent()?.join(name.get_ref().as_str()?));
        let span = Span::new(u32::try_from(place.start).ok()?, u32::try_from(place.end).ok()?);
        Some(DocumentLink {
            range: text.range(span, desk.columns),
            target: Some(desk.uri(&file)?),
            tooltip: None,
            data: None,
        })
    };
    named.iter().filter_map(link).collect()
}
