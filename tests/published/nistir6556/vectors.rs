//! Programs of ours against what the report's interpreter printed for them, call by call.

use std::fs;
use std::path::{Path, PathBuf};

use super::calls::{Call, printed};
use super::runs::{Run, strict};

/// Cases the interpreter runs although the report forbids them: the calls agree, and we tell what is forbidden.
const FORBIDDEN: [(&str, &str); 2] = [
    ("cycle_comp", "CycleCompensated"), // section 3.5.16: no cutter radius compensation during a cycle
    ("cycle_inverse_time", "CycleInverse"), // section 3.5.16: no inverse time feed during a cycle
];

#[test]
fn every_case_makes_the_printed_calls() {
    let cases = programs();
    assert!(cases.len() >= 60, "{} cases found", cases.len());
    let mut report = Vec::new();
    for case in cases {
        let name = case.file_stem().unwrap().to_str().unwrap().to_owned();
        if let Err(difference) = compare(&case, &name) {
            report.push(format!("{name}: {difference}"));
        }
    }
    assert!(report.is_empty(), "{} cases differ\n{}", report.len(), report.join("\n"));
}

/// Where a case stops with an error, the calls before it agree and the line that stops it has a fault.
fn compare(case: &Path, name: &str) -> Result<(), String> {
    let ours = strict(&fs::read_to_string(case).unwrap());
    let theirs = printed(&fs::read_to_string(case.with_extension("out")).unwrap());
    let stopped = fs::read_to_string(case.with_extension("err")).ok();
    for (at, call) in theirs.iter().enumerate() {
        same(ours.calls.get(at), call).map_err(|difference| format!("call {at}: {difference}"))?;
    }
    match stopped {
        None if ours.calls.len() > theirs.len() => Err(format!("further call {:?}", ours.calls[theirs.len()])),
        None => faults_are(&ours, FORBIDDEN.iter().find(|(case, _)| *case == name).map(|(_, kind)| *kind)),
        Some(error) => {
            let line = error.lines().nth(1).unwrap_or_default().trim();
            let found = ours.faults.first().is_some_and(|(_, at)| at == line);
            if found { Ok(()) } else { Err(format!("no first fault at `{line}` but {:?}", ours.faults)) }
        }
    }
}

/// Whether there are no faults, or one of kind `expected`.
fn faults_are(ours: &Run, expected: Option<&str>) -> Result<(), String> {
    let kinds: Vec<String> = ours.faults.iter().map(|(fault, _)| format!("{:?}", fault.kind)).collect();
    let as_expected = match (kinds.as_slice(), expected) {
        ([], None) => true,
        ([kind], Some(expected)) => kind.starts_with(expected),
        _ => false,
    };
    if as_expected { Ok(()) } else { Err(format!("faults {kinds:?}, expected {expected:?}")) }
}

fn same(ours: Option<&Call>, theirs: &Call) -> Result<(), String> {
    match ours {
        Some(ours) if ours.agrees(theirs) => Ok(()),
        other => Err(format!("\n  printed {theirs:?}\n  ours    {other:?}")),
    }
}

fn programs() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/vectors/rs274/cases");
    let mut programs: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    programs.retain(|path| path.extension().is_some_and(|extension| extension == "ngc"));
    programs.sort();
    programs
}
