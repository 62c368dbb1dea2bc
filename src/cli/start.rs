//! `lastply start`: a job file drafted from what a program shows.

use super::args::ProgramArgs;
use super::failure::Failure;
use super::files;
use super::job_files::Given;
use super::streams::Streams;
use super::subprograms::Folder;
use crate::check;
use crate::job::{DraftFacts, DraftHoles, DraftTool, draft};
use crate::motion::{self, BlockRef, FaultKind, MotionFault, Observer, Step, StepKind};
use crate::operation::{AXIS_Z, Origin, Survey};
use crate::program::ProgramGraph;
use crate::source::Source;
use crate::syntax::{Block, Blocks, Lexis};
use crate::units::{Millimetres, MmPerMin, RevPerMin};
use std::collections::BTreeMap;

/// Prints the draft; the program is read without any job, for the draft is to be the first.
pub fn run(args: &ProgramArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let source = files::read_program(&args.file)?;
    let given = Given::without_job(&args.setting)?;
    let folder = Folder::of(&args.file);
    let programs = ProgramGraph::read(source.clone(), &folder, &given.options.settings.lexis());
    let mut watch = Watch { sources: programs.sources(), facts: DraftFacts::default() };
    motion::run(&programs, &given.options.settings, &given.options.tools, &mut watch);
    let mut facts = watch.facts;
    facts.program = source.name.clone();
    let report = check::check(source, None, &folder, &given.options);
    add_holes(&mut facts, &report.survey);
    streams.write(&draft(&facts));
    Ok(0)
}

/// Notes what the program states and how its tools are driven.
struct Watch<'a> {
    sources: &'a [Source],
    facts: DraftFacts,
}

impl Observer for Watch<'_> {
    fn step(&mut self, step: &Step<'_>) {
        let state = step.state;
        if state.units.is_stated() {
            self.facts.units = self.facts.units.or(Some(state.units.value));
        }
        if state.work_offset.is_stated() && self.facts.work_offset.is_none() {
            self.facts.work_offset = work_offset(state.work_offset.value);
        }
        if state.tool.value == 0 {
            return;
        }
        if step.kind == StepKind::ToolChange {
            let comment = self.comment(step.block);
            self.learn(state.tool.value, |tool| {
                if tool.comment.is_empty() {
                    tool.comment = comment;
                }
            });
        }
        if let Some(feed) = step.feed {
            self.learn(state.tool.value, |tool| {
                add_once(&mut tool.feeds, MmPerMin(feed));
                state.speed.value.into_iter().for_each(|speed| add_once(&mut tool.speeds, RevPerMin(speed)));
                if let Some([_, _, z]) = step.to.point() {
                    tool.deepest = Some(Millimetres(tool.deepest.map_or(z, |deepest| deepest.0.min(z))));
                }
            });
        }
    }

    fn fault(&mut self, fault: MotionFault) {
        if let FaultKind::UnknownCode('M', code) = fault.kind
            && let Some(code) = (0..1000).find(|known| f64::from(*known) == code)
            && self.facts.codes.iter().all(|(known, _)| *known != code)
        {
            let comment = self.comment(fault.block);
            self.facts.codes.push((code, comment));
        }
    }
}

impl Watch<'_> {
    /// Changes what is known of a tool.
    fn learn(&mut self, number: u32, change: impl FnOnce(&mut DraftTool)) {
        let tools = &mut self.facts.tools;
        if let Some(tool) = tools.iter_mut().find(|tool| tool.number == number) {
            return change(tool);
        }
        let mut tool = DraftTool { number, ..DraftTool::default() };
        change(&mut tool);
        tools.push(tool);
    }

    /// The comment in a block, without its marks.
    fn comment(&self, block: BlockRef) -> String {
        let bytes = self.sources.get(usize::from(block.source.0)).map_or(&[][..], |source| &source.bytes);
        let line = block.span.of(bytes);
        let mut block = Block::default();
        let _ = Blocks::new(line, 0, Lexis::default()).next(&mut block);
        let comment = block.comments.first().map_or(&[][..], |span| span.of(line));
        String::from_utf8_lossy(comment).trim_matches(['(', ')', ';', ' ']).to_owned()
    }
}

/// Name of a work offset by its number in modal group 12.
fn work_offset(number: u8) -> Option<String> {
    match number {
        1..=6 => Some(format!("G{}", 53 + number)),
        7..=9 => Some(format!("G59.{}", number - 6)),
        _ => None,
    }
}

/// Different values noted of one tool; a draft that lists more helps nobody.
const VALUES_KEPT: usize = 8;

fn add_once<T: PartialEq>(list: &mut Vec<T>, value: T) {
    if list.len() < VALUES_KEPT && !list.contains(&value) {
        list.push(value);
    }
}

/// One place of the drawing: where, and what each tool did there.
struct Place {
    at: (Millimetres, Millimetres),
    tools: Vec<(u32, Millimetres)>,
}

/// Counts the holes with their tools, and groups their places by the tools that worked there.
fn add_holes(facts: &mut DraftFacts, survey: &Survey) {
    let mut places: Vec<Place> = Vec::new();
    let mut known: BTreeMap<(i64, i64), usize> = BTreeMap::new();
    for hole in &survey.holes {
        let Some(recipe) = survey.recipe_of(hole).filter(|recipe| recipe.axis == AXIS_Z) else { continue };
        if let Some(tool) = facts.tools.iter_mut().find(|tool| tool.number == recipe.tool) {
            tool.holes += 1;
            if let Origin::Cycle(code) = recipe.origin {
                add_once(&mut tool.cycles, code.name().to_owned());
            }
        }
        let index = *known.entry((microns(hole.x), microns(hole.y))).or_insert(places.len());
        if index == places.len() {
            places.push(Place { at: (Millimetres(hole.x), Millimetres(hole.y)), tools: Vec::new() });
        }
        let Some(place) = places.get_mut(index) else { continue };
        match place.tools.iter_mut().find(|(tool, _)| *tool == recipe.tool) {
            Some((_, bottom)) => bottom.0 = bottom.0.min(recipe.bottom),
            None => place.tools.push((recipe.tool, Millimetres(recipe.bottom))),
        }
    }
    for Place { at, tools } in places {
        match facts.holes.iter_mut().find(|holes| holes.tools == tools) {
            Some(holes) => holes.positions.push(at),
            None => facts.holes.push(DraftHoles { tools, positions: vec![at] }),
        }
    }
}

/// Positions nearer than this are one place.
#[expect(clippy::cast_possible_truncation, reason = "a cast from float saturates, and travel is far below the bound")]
fn microns(value: f64) -> i64 {
    libm::round(value * 1000.0) as i64
}
