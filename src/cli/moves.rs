//! `lastply moves`: every rebuilt move of a program.

use super::INCONCLUSIVE;
use super::args::{MovesArgs, MovesFormat as Asked};
use super::failure::Failure;
use super::files;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use crate::motion::{self, Collect, MotionFault, Observer, Step};
use crate::program::ProgramGraph;
use crate::render::{self, MovesFormat};
use crate::units::UnitSystem;

/// Collects moves and remembers the units the program speaks.
struct Watch<'a> {
    collect: Collect<'a>,
    units: UnitSystem,
}

impl Observer for Watch<'_> {
    fn step(&mut self, step: &Step<'_>) {
        self.units = step.state.units.value;
        self.collect.step(step);
    }

    fn fault(&mut self, fault: MotionFault) {
        self.collect.fault(fault);
    }
}

/// Prints them. A program with faults gives the moves that could be rebuilt, a note, and exit code 3.
pub fn run(args: &MovesArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let source = files::read_program(&args.file)?;
    // Moves need no job file, so nobody is told that there is none.
    let given = Given::for_program(&args.file, &args.setting, &streams.note_look, &mut Vec::new())?;
    let settings = &given.options.settings;
    let programs = ProgramGraph::read(source, &Folder::of(&args.file), &settings.lexis());
    let mut watch = Watch { collect: Collect::new(&programs), units: UnitSystem::default() };
    motion::run(&programs, settings, &given.options.tools, &mut watch);
    let format = match args.format {
        Asked::Table => MovesFormat::Table,
        Asked::Csv => MovesFormat::Csv,
        Asked::Json => MovesFormat::Json,
    };
    streams.write(&render::moves(&watch.collect.rows, programs.sources(), watch.units, format));
    if watch.collect.faults.is_empty() {
        return Ok(0);
    }
    let faults = render::counted(watch.collect.faults.len() as u64, "fault");
    let name = args.file.display();
    note(&format!("note: {faults} in `{name}`, so moves may be missing; `lastply check {name}` names them"));
    Ok(INCONCLUSIVE)
}
