//! `lastply schema`: the JSON Schema of the job file or of the JSON report.

use super::args::SchemaArgs;
use super::failure::Failure;
use super::streams::Streams;
use crate::job;
use crate::render;
use crate::rules;

/// Prints it.
pub fn run(args: &SchemaArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let schema = if args.output { render::schema().to_value() } else { job::schema(&rules::names()) };
    let text = serde_json::to_string_pretty(&schema).map_err(|error| Failure::Output(error.to_string()))?;
    streams.write(&text);
    streams.write("\n");
    Ok(0)
}
