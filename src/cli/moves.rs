//! `lastply moves`: every rebuilt move of a program.

use super::INCONCLUSIVE;
use super::args::{MovesArgs, MovesFormat as Asked};
use super::failure::Failure;
use super::files;
use super::job_files::Given;
use super::streams::{Streams, note};
use super::subprograms::Folder;
use crate::motion::{self, Moves};
use crate::program::ProgramGraph;
use crate::render::{self, MovesFormat, MovesLayout, MovesWriter};

/// Prints them. A program with faults gives the moves that could be rebuilt, a note, and exit code 3.
pub fn run(args: &MovesArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let source = files::read_program(&args.file)?;
    // Moves need no job file, so nobody is told that there is none.
    let given = Given::for_program(&args.file, &args.setting, &streams.note_look, &mut Vec::new())?;
    let (settings, tools) = (&given.options.settings, &given.options.tools);
    let programs = ProgramGraph::read(source, &Folder::of(&args.file), &settings.lexis());
    let format = match args.format {
        Asked::Table => MovesFormat::Table,
        Asked::Csv => MovesFormat::Csv,
        Asked::Json => MovesFormat::Json,
    };
    // The first run measures, the second prints: the moves of a long program would fill the memory.
    let mut layout = MovesLayout::default();
    let mut first = Moves::new(&programs, |row| layout.measure(row));
    motion::run(&programs, settings, tools, &mut first);
    let (units, faults) = (first.units, first.faults);
    let mut writer = MovesWriter::new(format, programs.sources(), units, layout);
    streams.write(&writer.head());
    motion::run(&programs, settings, tools, &mut Moves::new(&programs, |row| streams.write(&writer.row(row))));
    streams.write(writer.tail());
    if faults == 0 {
        return Ok(0);
    }
    let faults = render::counted(faults, "fault");
    let name = args.file.display();
    note(&format!("note: {faults} in `{name}`, so moves may be missing; `lastply check {name}` names them"));
    Ok(INCONCLUSIVE)
}
