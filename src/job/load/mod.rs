//! From job-file text to a [`Job`], with every fault told at once.
//!
//! Text is parsed, held against the schema ([`shape`]), read into raw tables, and turned into typed values with origin.

mod amount;
mod at;
mod contour;
mod edges;
mod error;
mod fixture;
mod holes;
mod laminate;
mod laminate_table;
mod library;
mod life;
mod machine;
mod measured;
mod positions_file;
mod reader;
mod shape;
mod tables;
mod thrust;
mod tool;
mod tool_table;
mod trials;
mod tuning;
mod units_word;
mod waiver;
mod workpiece;

pub(super) use amount::size_in;
pub use error::JobError;
pub(super) use tables::JobTables;

use super::{Head, Job, Ruling, Support, Tuning};
use crate::source::Source;
use at::At;
use error::did_you_mean;
use library::Shelf;
use reader::Reader;
use std::collections::BTreeMap;
use std::sync::Arc;
use tables::{HeadTable, parse};
use units_word::UnitsWord;

/// Where the files stand that a job file names: libraries and position files.
pub trait JobFiles {
    /// The file of that name, relative to the job file.
    ///
    /// # Errors
    /// Why it cannot be read, in words.
    fn read(&self, name: &str) -> Result<Source, String>;
}

/// No files beside the job file.
pub struct NoFiles;

impl JobFiles for NoFiles {
    fn read(&self, _name: &str) -> Result<Source, String> {
        Err("there is no such file".to_owned())
    }
}

impl Job {
    /// Reads a job file and the files it names.
    ///
    /// # Errors
    /// Every fault found, in the order of the text.
    pub fn load(main: &Source, files: &dyn JobFiles) -> Result<Self, Vec<JobError>> {
        let mut reader = Reader::new(Arc::new(main.clone()));
        let job = parse::<JobTables>(&mut reader).map(|tables| job(&tables, files, &mut reader));
        let mut errors = reader.finish();
        // The job file first, in the order of its text; faults of other files keep the order they were found in.
        errors.sort_by_key(|error| {
            let elsewhere = error.file.name != main.name;
            (elsewhere, if elsewhere { 0 } else { error.span.start })
        });
        match job {
            Some(job) if errors.is_empty() => Ok(job),
            _ => Err(errors),
        }
    }
}

fn job(tables: &JobTables, files: &dyn JobFiles, reader: &mut Reader) -> Job {
    let raw_head = tables.job.as_ref();
    reader.units = raw_head.and_then(|head| head.units).map(UnitsWord::system);
    let head = raw_head.map(|raw| reader.within("job", |reader| head(raw, reader))).unwrap_or_default();
    let mut shelf = Shelf::default();
    for name in tables.libraries.iter().flatten() {
        shelf.put(name, files, reader);
    }
    let shelf = shelf.under(&tables.shared(), reader);
    let fixture = tables.fixture.as_ref();
    let fixture = fixture.map(|raw| reader.within("fixture", |reader| fixture::fixture(raw, reader)));
    let workpiece = tables.workpiece.as_ref();
    let workpiece = workpiece.map(|raw| reader.within("workpiece", |reader| workpiece::workpiece(raw, &shelf, reader)));
    let wanted = raw_head.and_then(|head| head.laminate.as_ref());
    let mut job = Job {
        name: reader.file.name.clone(),
        laminate: wanted.and_then(|wanted| shelf.laminate(wanted, reader)),
        machine: shelf.machine,
        edges: edges::edges(tables.edges.as_deref().unwrap_or_default(), workpiece.as_ref(), reader),
        workpiece,
        tools: shelf.tools,
        holes: holes::holes(tables.holes.as_deref().unwrap_or_default(), files, reader),
        waivers: waivers(tables, reader),
        rulings: rulings(tables),
        fixture: fixture.unwrap_or_default(),
        tuning: Tuning::default(),
        measured: None,
        head,
    };
    if let Some(raw) = &tables.tune {
        job.tuning = reader.within("tune", |reader| tuning::tuning(raw, &job, reader));
    }
    back(&mut job, tables, reader);
    waived_holes(&job, tables, reader);
    job
}

/// A backing in the fixture supports the exit; a laminate that says nothing does contradicts it.
fn back(job: &mut Job, tables: &JobTables, reader: &mut Reader) {
    let Some(backing) = tables.fixture.as_ref().and_then(|fixture| fixture.backing.as_ref()) else { return };
    let Some(laminate) = job.laminate.as_mut() else { return };
    match laminate.support {
        Support::None => reader.error(
            backing.span,
            format!("the fixture has a backing, but `laminate.{}.support` is \"none\"", laminate.name),
            Some("say \"backed\", or leave one of the two out".to_owned()),
        ),
        Support::Undeclared => laminate.support = Support::Backed,
        Support::Backed => {}
    }
}

fn head(raw: &HeadTable, reader: &mut Reader) -> Head {
    let text = |given: &Option<String>| given.clone().unwrap_or_default();
    Head {
        part: text(&raw.part),
        operation: text(&raw.operation),
        revision: text(&raw.revision),
        drawing: text(&raw.drawing),
        units: raw.units.map(UnitsWord::system),
        entry_z: reader.any("entry_z", &raw.entry_z).unwrap_or_default(),
        entry_face: text(&raw.entry_face),
        work_offset: raw.work_offset.clone(),
        date: waiver::date("date", raw.date.as_ref(), reader),
    }
}

fn rulings(tables: &JobTables) -> BTreeMap<String, Ruling> {
    let lines = tables.rules.iter().flatten();
    lines.map(|(rule, word)| (rule.value.clone(), Ruling { policy: word.policy(), at: rule.span })).collect()
}

/// A waiver for a hole that the drawing does not have covers nothing that was meant.
fn waived_holes(job: &Job, tables: &JobTables, reader: &mut Reader) {
    let known: Vec<&str> = job.holes.iter().flat_map(|group| &group.positions).map(|hole| hole.id.as_str()).collect();
    for waiver in job.waivers.iter().filter(|_| !known.is_empty()) {
        let raw = tables.waiver.iter().flatten().find(|raw| raw.value.is(&waiver.id));
        let unknown = waiver.holes.iter().filter(|hole| !known.contains(&hole.as_str()));
        for (hole, raw) in unknown.filter_map(|hole| Some((hole, raw?))) {
            let message = format!("waiver {} names hole `{hole}`, which is not in `holes`", waiver.id);
            reader.error(raw.span, message, did_you_mean(hole, &known));
        }
    }
}

fn waivers(tables: &JobTables, reader: &mut Reader) -> Vec<super::Waiver> {
    let mut read: Vec<super::Waiver> = Vec::new();
    for (index, At { value: raw, span }) in tables.waiver.iter().flatten().enumerate() {
        let Some(waiver) = reader.within(&format!("waiver.{}", index + 1), |reader| waiver::waiver(raw, reader)) else {
            continue;
        };
        if read.iter().any(|other| other.id == waiver.id) {
            reader.error(*span, format!("two waivers are called `{}`", waiver.id), None);
        }
        read.push(waiver);
    }
    read
}
