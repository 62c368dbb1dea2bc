//! The sample programs: clean ones stay clean, faulty ones give their seeded findings and no other error.

use lastply::check::{Options, Report, check};
use lastply::diagnostic::Status;
use lastply::job::{Job, NoFiles};
use lastply::source::{LineIndex, NoLibrary, Source};
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

/// Folders of `programs/`, in order.
fn folders() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs");
    let mut folders: Vec<PathBuf> = fs::read_dir(root).unwrap().map(|entry| entry.unwrap().path()).collect();
    folders.retain(|path| path.is_dir());
    folders.sort();
    folders
}

fn run(folder: &Path, ending: &str) -> (String, Report) {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    let job_name = names.iter().find(|name| name.ends_with(".job.toml")).unwrap();
    let stem = job_name.trim_end_matches(".job.toml");
    let program = format!("{stem}{ending}.nc");
    let read = |name: &str| Source::new(name, fs::read(folder.join(name)).unwrap());
    let job = Job::load(&read(job_name), &NoFiles).unwrap_or_else(|errors| {
        let said: Vec<&str> = errors.iter().map(|error| error.message.as_str()).collect();
        panic!("{job_name}: {said:?}")
    });
    let options = Options::of_job(Some(&job)).unwrap();
    let report = check(read(&program), Some(&job), &NoLibrary, &options);
    (program, report)
}

/// Findings as a listing a person can read.
fn listing(report: &Report) -> String {
    let mut text = String::new();
    let lines: Vec<LineIndex> = report.sources.iter().map(|source| LineIndex::new(&source.bytes)).collect();
    for finding in &report.findings {
        let status = match &finding.status {
            Status::Open | Status::Known => finding.severity.word().to_owned(),
            Status::Waived(id) => format!("waived by {id}"),
        };
        writeln!(text, "{status} {}: {}", finding.rule, finding.message).unwrap();
        for place in &finding.places {
            let source = &report.sources[place.source.0 as usize];
            let at = lines[place.source.0 as usize].position(place.span.start);
            let name = place.hole.and_then(|hole| report.hole_names.get(hole as usize)).cloned().unwrap_or_default();
            let words = String::from_utf8_lossy(place.span.of(&source.bytes)).into_owned();
            writeln!(text, "    {}:{} `{words}` {name}", at.line, at.column).unwrap();
        }
    }
    for missing in &report.not_checked {
        writeln!(text, "not checked {}: {} {:?}", missing.rule, missing.why, missing.key).unwrap();
    }
    let coverage = report.coverage;
    writeln!(
        text,
        "blocks {} of {} understood, holes {} of {} judged",
        coverage.understood, coverage.blocks, coverage.judged, coverage.holes
    )
    .unwrap();
    text
}

#[test]
fn clean_programs_stay_clean() {
    for folder in folders() {
        let (program, report) = run(&folder, "");
        let open = report.findings.iter().filter(|finding| finding.status == Status::Open).count();
        assert!(open == 0 && !report.incomplete(), "{program} is not clean:\n{}", listing(&report));
    }
}

#[test]
fn faulty_programs_give_their_seeded_findings() {
    for folder in folders() {
        let (program, report) = run(&folder, "_faulty");
        insta::assert_snapshot!(program.trim_end_matches(".nc"), listing(&report));
    }
}
