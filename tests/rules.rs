//! Every example in every rule's manual runs: firing ones point at their marked lines, quiet ones stay quiet.

use lastply::check::{Options, check};
use lastply::diagnostic::Finding;
use lastply::job::{Job, ToolKind};
use lastply::rules::{ALL, Example};
use lastply::source::{LineIndex, NoLibrary, Source};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// What compares the program with the job's own tools and waivers, or a part with its job, has no question without them.
const COMPARES_JOB: [&str; 5] =
    ["part-outside-tolerance", "tool-unknown", "waiver-exceeded", "waiver-expired", "waiver-unused"];

/// A job of `tests/jobs` by name.
pub fn job(name: &str) -> Job {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/jobs");
    let file = format!("{name}.toml");
    let bytes = fs::read(folder.join(&file)).unwrap_or_else(|error| panic!("tests/jobs/{file}: {error}"));
    Job::load(&Source::new(file, bytes), &lastply::job::NoFiles).unwrap_or_else(|errors| panic!("{name}: {errors:?}"))
}

fn findings(rule: &str, example: &Example) -> Vec<Finding> {
    let job = example.job.as_deref().map(job);
    let job = job.map(|job| job.measured(example.measured.as_slice(), &[], None).unwrap());
    let source = Source::new("example.nc", example.program.as_bytes());
    let report = check(source, job.as_ref(), &NoLibrary, &Options::of_job(job.as_ref()).unwrap());
    report.findings.into_iter().filter(|finding| finding.rule == rule).collect()
}

/// Lines that carry the mark `(!)`, from 1.
fn marked(program: &str) -> BTreeSet<u32> {
    program.lines().zip(1..).filter(|(line, _)| line.contains("(!)")).map(|(_, number)| number).collect()
}

fn pointed(program: &str, findings: &[Finding]) -> BTreeSet<u32> {
    let lines = LineIndex::new(program.as_bytes());
    let places = findings.iter().flat_map(|finding| &finding.places);
    places.map(|place| lines.position(place.span.start).line).collect()
}

#[test]
fn every_example_of_every_manual_holds() {
    let mut wrong = Vec::new();
    for entry in ALL {
        let name = entry.rule.name;
        for (number, example) in entry.manual().examples().iter().enumerate() {
            let found = findings(name, example);
            let (want, have) = (marked(&example.program), pointed(&example.program, &found));
            let said: Vec<&str> = found.iter().map(|finding| finding.message.as_str()).collect();
            if example.fires && found.is_empty() {
                wrong.push(format!("{name}, example {number}: did not fire"));
            } else if example.fires && want != have {
                wrong.push(format!("{name}, example {number}: marked lines {want:?}, pointed at {have:?}: {said:?}"));
            } else if !example.fires && !found.is_empty() {
                wrong.push(format!("{name}, example {number}: should be quiet, said {said:?} at {have:?}"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// Findings and unconcluded checks of an example's program, with or without its job.
fn heard(rule: &str, example: &Example, job: Option<&Job>) -> (bool, bool) {
    let source = Source::new("example.nc", example.program.as_bytes());
    let report = check(source, job, &NoLibrary, &Options::of_job(job).unwrap());
    let found = report.findings.iter().any(|finding| finding.rule == rule);
    (found, report.not_checked.iter().any(|missing| missing.rule == rule))
}

#[test]
fn a_rule_that_needs_the_job_says_so_without_one() {
    let mut silent = Vec::new();
    for entry in ALL.iter().filter(|entry| !COMPARES_JOB.contains(&entry.rule.name)) {
        let name = entry.rule.name;
        for example in entry.manual().examples().iter().filter(|example| example.fires) {
            if heard(name, example, None) == (false, false) {
                silent.push(name);
            }
        }
    }
    silent.dedup();
    assert!(silent.is_empty(), "neither found nor not checked without a job: {silent:?}");
}

/// Rules that fall silent on one of their own firing examples once something is taken out of its job.
fn silenced_by(take: impl Fn(&mut Job)) -> BTreeSet<&'static str> {
    let mut silent = BTreeSet::new();
    for entry in ALL.iter().filter(|entry| !COMPARES_JOB.contains(&entry.rule.name)) {
        let name = entry.rule.name;
        for example in entry.manual().examples().iter().filter(|example| example.fires) {
            let Some(mut job) = example.job.as_deref().map(job) else { continue };
            take(&mut job);
            if heard(name, example, Some(&job)) == (false, false) {
                silent.insert(name);
            }
        }
    }
    silent
}

#[test]
fn a_rule_that_needs_the_tool_says_so_where_the_job_does_not_list_it() {
    assert_eq!(silenced_by(|job| job.tools.clear()), BTreeSet::new());
}

#[test]
fn a_rule_that_needs_the_point_of_a_tool_says_so_where_the_job_does_not_give_it() {
    let blunt = |job: &mut Job| {
        for tool in job.tools.values_mut() {
            match &mut tool.kind {
                ToolKind::TwistDrill { point } | ToolKind::StraightFluteDrill { point } => *point = None,
                ToolKind::StepDrill { point, .. } | ToolKind::DrillReamer { point, .. } => *point = None,
                ToolKind::Reamer { lead } => *lead = None,
                _ => {}
            }
        }
    };
    assert_eq!(silenced_by(blunt), BTreeSet::new());
}
