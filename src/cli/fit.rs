//! `lastply fit`: a thrust law from the shop's own drilling trials, as a piece of job file, and its picture.

use super::args::FitArgs;
use super::failure::Failure;
use super::files;
use super::streams::Streams;
use super::write;
use crate::job::Trials;
use crate::render;
use crate::tune::fit::fit;

/// Prints the law; the picture goes to the file asked for.
pub fn run(args: &FitArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let source = files::read_program(&args.file)?;
    let trials = Trials::load(&source)
        .map_err(|errors| Failure::Job(render::job_errors(&errors, &streams.note_look).trim_end().to_owned()))?;
    let fit = fit(&trials).map_err(|why| Failure::Unusable(format!("`{}`: {why}", args.file.display())))?;
    if let Some(path) = &args.plot {
        let picture = render::plot(&fit, &trials).map_err(Failure::Unusable)?;
        write::replace(path, picture.as_bytes())?;
    }
    streams.write(&render::fit(&fit, &trials, args.tool));
    Ok(0)
}
