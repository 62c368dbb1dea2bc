//! `lastply schema`: the JSON Schema of the job file or of what a command prints as JSON.

use super::args::{Output, SchemaArgs};
use super::failure::Failure;
use super::streams::Streams;
use crate::job;
use crate::render;
use crate::rules;

/// Prints it.
pub fn run(args: &SchemaArgs, streams: &mut Streams) -> Result<u8, Failure> {
    let schema = match args.output {
        Some(Output::Check) => render::schema().to_value(),
        Some(Output::Compare) => render::comparison_schema().to_value(),
        None => job::schema(&rules::names()),
    };
    let text = serde_json::to_string_pretty(&schema).map_err(|error| Failure::Output(error.to_string()))?;
    streams.write(&text);
    streams.write("\n");
    Ok(0)
}
