//! The report as JSON Lines: one object a program, one a finding, one for the run, each with its `kind`.

use super::CAUTION;
use super::fleet::Round;
use super::json::{Exit, ProgramReport, SCHEMA_VERSION};
use serde::Serialize;
use serde_json::{Map, Value};

/// What closes the lines of a run.
#[derive(Debug, Serialize)]
struct RunLine<'a> {
    kind: &'static str,
    schema_version: u32,
    version: &'static str,
    caution: &'static str,
    exit: Exit,
    unread: &'a [String],
    stale: &'a [String],
    same_number: &'a [String],
}

/// The program without its findings, then each finding with the name of its program. The fields are those of the JSON
/// report.
pub(super) fn program(report: &ProgramReport) -> String {
    let Ok(Value::Object(mut program)) = serde_json::to_value(report) else { return String::new() };
    let findings = match program.remove("findings") {
        Some(Value::Array(findings)) => findings,
        _ => Vec::new(),
    };
    let mut text = line("program", None, program);
    for finding in findings {
        if let Value::Object(finding) = finding {
            text.push_str(&line("finding", Some(&report.program), finding));
        }
    }
    text
}

fn line(kind: &str, program: Option<&String>, mut fields: Map<String, Value>) -> String {
    fields.insert("kind".to_owned(), kind.into());
    if let Some(program) = program {
        fields.insert("program".to_owned(), program.as_str().into());
    }
    format!("{}\n", Value::Object(fields))
}

/// The last line.
pub(super) fn run(exit: Exit, round: &Round) -> String {
    let line = RunLine {
        kind: "run",
        schema_version: SCHEMA_VERSION,
        version: env!("CARGO_PKG_VERSION"),
        caution: CAUTION,
        exit,
        unread: &round.unread,
        stale: &round.stale,
        same_number: &round.twins,
    };
    // Strings, integers and lists cannot fail to serialise.
    format!("{}\n", serde_json::to_string(&line).unwrap_or_default())
}
