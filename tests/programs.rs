//! The sample programs: clean ones stay clean, faulty ones give their seeded findings and no other error.

use lastply::check::{Options, Report, check};
use lastply::diagnostic::{Severity, Status};
use lastply::job::{Job, NoFiles};
use lastply::render::{Format, Look, Round, bind, page};
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

/// The root plate with one text put in place of another.
fn plate_with(find: &str, put: &str) -> Report {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/root_plate");
    let read = |name: &str| fs::read(folder.join(name)).unwrap();
    let job = Job::load(&Source::new("job.toml", read("root_plate_op20.job.toml")), &NoFiles).unwrap();
    let text = String::from_utf8(read("root_plate_op20.nc")).unwrap();
    assert!(text.contains(find), "{find}");
    let options = Options::of_job(Some(&job)).unwrap();
    check(Source::new("plate.nc", text.replace(find, put)), Some(&job), &NoLibrary, &options)
}

/// What only a missing program could have done is not checked; it is no fault of the rest.
#[test]
fn a_missing_subprogram_is_no_wrong_hole() {
    let turn = "O2012 (ONE TURN OF THE HELIX)\nG3 X0. Y0. Z-3. I-5. J0.\nM99\n";
    let report = plate_with(turn, "");
    let rules: Vec<&str> = report.findings.iter().map(|finding| finding.rule).collect();
    assert!(!rules.contains(&"hole-diameter-wrong") && !rules.contains(&"arc-impossible"), "{rules:?}");
    for rule in ["hole-diameter-wrong", "arc-impossible"] {
        let missing = report.not_checked.iter().find(|missing| missing.rule == rule);
        assert_eq!(missing.map(|missing| missing.why.as_str()), Some("program 2012 is missing"), "{rule}");
    }
    // In each of 36 holes at least the call and the arc behind it.
    assert!(report.coverage.understood + 72 <= report.coverage.blocks, "{:?}", report.coverage);
    assert!(report.incomplete());
}

#[test]
fn a_wrong_unit_is_a_few_findings_not_pages() {
    let report = plate_with("N10 G21", "N10 G20");
    let beyond: Vec<_> = report.findings.iter().filter(|finding| finding.rule == "travel-exceeded").collect();
    let tools = report.survey.tools.len();
    assert!(!beyond.is_empty() && beyond.len() <= tools * 3, "{} for {tools} tools", beyond.len());
    let worst = beyond.iter().find(|finding| finding.message.starts_with("Y388.516 lies"));
    assert!(worst.is_some_and(|finding| finding.places.len() > 3), "{:?}", beyond[0].message);
}

#[test]
fn faulty_programs_give_their_seeded_findings() {
    for folder in folders() {
        let (program, report) = run(&folder, "_faulty");
        insta::assert_snapshot!(program.trim_end_matches(".nc"), listing(&report));
    }
}

/// The root plate without the blocks that contain some of `words`, under a job changed by `change`.
fn root_plate(words: &[&str], change: impl Fn(&str) -> String) -> Report {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/root_plate");
    let read = |name: &str| fs::read_to_string(folder.join(name)).unwrap();
    let program: String = read("root_plate_op20.nc")
        .split_inclusive('\n')
        .filter(|line| !words.iter().any(|word| line.contains(word)))
        .collect();
    let job = change(&read("root_plate_op20.job.toml"));
    let job = Job::load(&Source::new("root_plate_op20.job.toml", job.as_str()), &NoFiles).unwrap();
    let options = Options::of_job(Some(&job)).unwrap();
    check(Source::new("root_plate_op20.nc", program.as_str()), Some(&job), &NoLibrary, &options)
}

#[test]
fn a_waiver_takes_no_missing_hole_away() {
    let report = root_plate(&["N1980", "N2100"], str::to_owned);
    let rules: Vec<&str> =
        report.findings.iter().filter(|finding| finding.status == Status::Open).map(|finding| finding.rule).collect();
    assert_eq!(rules, ["hole-missing"]);
    let nothing = root_plate(&["G"], str::to_owned);
    assert!(nothing.findings.iter().any(|finding| finding.rule == "hole-missing"), "no block, no hole");
}

#[test]
fn rules_that_the_job_switches_off_are_named() {
    let off = |job: &str| format!("{job}\n[rules]\n\"exit-feed-high\" = \"allow\"\n\"dwell-in-hole\" = \"note\"\n");
    let mut report = root_plate(&[], off);
    let page = page(&report, &[], Format::Terminal, Severity::Error, &Look::default());
    let told = bind(vec![page], Format::Terminal, Severity::Error, &Round::default(), &Look::default());
    for words in ["switched off by the job file: exit-feed-high", "told as notes by the job file: dwell-in-hole"] {
        assert!(told.contains(words), "{told}");
    }
    report.narrow(&["exit-feed-high"]);
    assert!(report.incomplete(), "what is switched off was not looked at");
}

#[test]
fn edges_tell_what_is_not_through_and_what_no_override_lifts() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/hatch");
    let read = |name: &str| Source::new(name, fs::read(folder.join(name)).unwrap());
    let job = Job::load(&read("hatch_op40.job.toml"), &NoFiles).unwrap();
    let told = |program: &str| {
        let mut options = Options::of_job(Some(&job)).unwrap();
        options.keep_stretches = true;
        let report = check(read(program), Some(&job), &NoLibrary, &options);
        let text = lastply::render::edges(&report, Some(&job), &Look::default());
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let faulty = told("hatch_op40_faulty.nc");
    // 0.25 mm from stop to stop at 1 m/s2: sqrt(0.25 * 1000) mm/s = 948.7 mm/min of 2400, of 0.1 mm/tooth.
    let short = "over 53 mm the machine reaches 0.0395 mm/tooth at most, least 0.05 mm/tooth: no override lifts that";
    assert!(faulty.contains(short), "{faulty}");
    assert!(faulty.contains("mm at Z-25, 1.347 mm above the bottom, and over"), "{faulty}");
    assert!(!told("hatch_op40.nc").contains("no override lifts that"));
}
