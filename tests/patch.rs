//! Patches end to end: checked, patched, read again, and accepted by the public tools that apply diffs.

mod edges;

use crate::published::patch_tools::tools_give;
use lastply::check::{Options, Report, check};
use lastply::diagnostic::Status;
use lastply::job::{Job, NoFiles};
use lastply::patch::{Checked, Inputs, Patch};
use lastply::rules::ALL;
use lastply::source::{Library, NoLibrary, Source};
use std::collections::BTreeSet;
use std::path::Path;

/// A program checked with a job.
struct Case {
    job: Option<Job>,
    options: Options,
    report: Report,
    library: Box<dyn Library>,
}

impl Case {
    fn new(name: &str, program: &[u8], job: &Path) -> Self {
        Self::with(name, program, std::fs::read(job).unwrap())
    }

    fn with(name: &str, program: &[u8], job: Vec<u8>) -> Self {
        let job = Job::load(&Source::new("job.toml", job), &NoFiles).unwrap();
        let options = Options::of_job(Some(&job)).unwrap();
        let report = check(Source::new(name, program), Some(&job), &NoLibrary, &options);
        Self { job: Some(job), options, report, library: Box::new(NoLibrary) }
    }

    fn patch(&self) -> Patch {
        let inputs = Inputs {
            sources: &self.report.sources,
            job: self.job.as_ref(),
            settings: &self.options.settings,
            tools: &self.options.tools,
            library: &*self.library,
            share_strokes: false,
            units: self.report.units,
            survey: &self.report.survey,
            findings: &self.report.findings,
            not_checked: &self.report.not_checked,
        };
        Patch::propose(&inputs, &|program, library| self.recheck(program, library))
    }

    fn recheck(&self, program: Source, library: &dyn Library) -> Checked {
        let report = check(program, self.job.as_ref(), library, &self.options);
        Checked { findings: report.findings, not_checked: report.not_checked, survey: report.survey }
    }
}

impl Case {
    fn plate(program: &str) -> Self {
        Self::new("plate.nc", program.as_bytes(), &root().join("tests/jobs/plate.toml"))
    }

    /// The text after the patch; both public tools must come to the same one.
    fn patched(&self, patch: &Patch) -> String {
        let source = self.report.sources.first().unwrap();
        let (_, _, bytes) = patch.patched().next().expect("a patch");
        tools_give(&source.name, &source.bytes, &patch.diff(), bytes);
        String::from_utf8_lossy(bytes).into_owned()
    }

    fn cured(&self, patch: &Patch) -> BTreeSet<&'static str> {
        patch.verdict().cured.iter().map(|index| self.report.findings[*index].rule).collect()
    }
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Start of a program for the plate job, tool 6 at speed above the first hole.
const HEAD: &str =
    "N10 G21 G90 G94 G17 G40 G49 G80 G54\nN20 T6 M6\nN30 S6366 M3 M7\nN40 G4 P2.5\nN50 G0 G43 H6 X20. Y20. Z5.\n";

/// Process reference case: one pecked, too shallow, too fast hole becomes one stroke with a slow exit.
#[test]
fn a_hole_with_four_faults_is_cured_by_one_change() {
    let case = Case::plate(&format!("{HEAD}N60 G99 G83 Z-7.5 R2. Q2. F318.\nN70 G80\nN80 G0 Z50. M5\nN90 M30\n"));
    let patch = case.patch();
    let expected = BTreeSet::from(["exit-feed-high", "not-through", "peck-in-laminate", "peck-stops-at-exit"]);
    assert!(case.cured(&patch).is_superset(&expected), "{:?}", patch.verdict());
    let diff = String::from_utf8(patch.diff()).unwrap();
    assert!(diff.contains("@@ exit-feed-high, not-through, peck-in-laminate, peck-stops-at-exit\n"), "{diff}");
    let text = case.patched(&patch);
    let hole = "N60 G0 Z2.\nN61 G1 Z-5.32 F318.\nN62 G1 Z-8.49 F190.9\nN63 G0 Z2.\nN70 G80\n";
    assert!(text.contains(hole), "{text}");
}

/// The patch of a faulty sample as a diff, and its case.
fn sample(name: &str) -> (Case, String) {
    let folder = root().join("programs").join(name.rsplit_once("_op").unwrap().0);
    let program = std::fs::read(folder.join(format!("{name}_faulty.nc"))).unwrap();
    let case = Case::new(name, &program, &folder.join(format!("{name}.job.toml")));
    let diff = String::from_utf8(case.patch().diff()).unwrap();
    (case, diff)
}

/// What a programmer would load: the feed of the row, air in the program's own digits, no coolant switched in a hole.
#[test]
fn a_patch_is_written_as_a_programmer_would_write_it() {
    let (_, lid) = sample("battery_lid_op10");
    assert!(lid.contains("+X5.75 Y1.7 F6.4") && lid.contains("+G0 Z.57"), "{lid}");
    let (case, foil) = sample("foil_flange_op30");
    assert!(!foil.contains("+M8"), "{foil}");
    let dry = case.report.findings.iter().find(|finding| finding.rule == "coolant-against-rule").unwrap();
    assert_eq!(dry.advice.as_deref(), Some("M8 before the tool is taken to this hole"));
}

/// A waiver exceeded is no longer so once the value it bounds is put right.
#[test]
fn what_goes_with_a_cure_is_not_listed_as_left() {
    let job = root().join("tests/jobs/waived_exceeded.toml");
    let manual = ALL.iter().find(|entry| entry.rule.name == "waiver-exceeded").unwrap().manual();
    let example = manual.examples().iter().find(|example| example.fires).unwrap().program.clone();
    let case = Case::new("plate.nc", example.as_bytes(), &job);
    let patch = case.patch();
    let text = case.patched(&patch);
    let after = Case::new("plate.nc", text.as_bytes(), &job);
    let still = |rule: &str| after.report.findings.iter().any(|finding| finding.rule == rule);
    let left: Vec<&str> = patch.verdict().left.iter().map(|(index, _)| case.report.findings[*index].rule).collect();
    assert!(!still("waiver-exceeded") && !left.contains(&"waiver-exceeded"), "{left:?}");
    assert!(case.cured(&patch).contains("waiver-exceeded") && left.iter().all(|rule| still(rule)), "{left:?}");
}

#[test]
fn a_patched_program_needs_no_further_patch() {
    let series = "N60 G99 G81 Z-8.5 R2. F318.\nN70 X40.\nN80 X60.\nN90 G80\nN100 G0 Z50.\nN110 M30\n";
    let case = Case::plate(&format!("{HEAD}{series}"));
    let text = case.patched(&case.patch());
    let again = Case::plate(&text);
    let left: Vec<_> = again.report.findings.iter().filter(|finding| finding.remedy.is_some()).collect();
    assert!(left.is_empty(), "{left:?}");
    assert!(again.patch().is_empty());
    assert_eq!(again.report.survey.holes.len(), case.report.survey.holes.len());
}

/// Every finding of every firing example is cured, or left with a reason; what is cured stays cured under both tools.
#[test]
fn every_example_of_every_manual_is_patched_or_explained() {
    let mut cured = BTreeSet::new();
    for (entry, example) in ALL.iter().flat_map(|entry| entry.manual().examples().into_iter().map(move |e| (entry, e)))
    {
        let Some(job) = example.job.as_ref().filter(|_| example.fires) else { continue };
        let job = root().join("tests/jobs").join(format!("{job}.toml"));
        let case = Case::new("example.nc", example.program.as_bytes(), &job);
        let patch = case.patch();
        let verdict = patch.verdict();
        let open = case.report.findings.iter().filter(|finding| finding.status == Status::Open).count();
        assert_eq!(verdict.cured.len() + verdict.left.len(), open, "{}", entry.rule.name);
        assert!(verdict.left.iter().all(|(_, why)| !why.is_empty()), "{}", entry.rule.name);
        if !patch.is_empty() {
            case.patched(&patch);
        }
        cured.extend(case.cured(&patch));
    }
    let expected = [
        "blind-depth-wrong",
        "chip-load-below-floor",
        "cycle-left-active",
        "dwell-in-hole",
        "entry-feed-high",
        "exit-feed-high",
        "exit-slow-ends-early",
        "exit-slowed-late",
        "feed-above-ceiling",
        "hop-over-clamp",
        "length-offset-mismatch",
        "not-through",
        "peck-in-laminate",
        "peck-stops-at-exit",
        "reamer-rapid-out",
        "retract-below-face",
        "thrust-above-critical",
    ];
    let missing: Vec<_> = expected.iter().filter(|rule| !cured.contains(*rule)).collect();
    assert!(missing.is_empty(), "no example of {missing:?} is cured");
}

/// Where no feed is right, none is proposed.
#[test]
fn a_hole_without_a_feed_window_is_never_patched_silently() {
    let job = std::fs::read_to_string(root().join("tests/jobs/plate.toml")).unwrap();
    let tight = job.replace("exit_tooth_floor = 0.008", "exit_tooth_floor = 0.018");
    assert_ne!(job, tight);
    let program = format!("{HEAD}N60 G99 G81 Z-8.5 R2. F318.\nN70 G80\nN80 M30\n");
    let case = Case::with("plate.nc", program.as_bytes(), tight.into_bytes());
    assert!(case.report.findings.iter().any(|finding| finding.rule == "exit-feed-high"));
    let patch = case.patch();
    assert!(patch.is_empty(), "{}", String::from_utf8_lossy(&patch.diff()));
}

/// A block in a subprogram is changed when all its callers want the change, and the diff names the file it stands in.
#[test]
fn a_subprogram_beside_the_program_is_patched_in_its_own_file() {
    struct Beside;
    impl Library for Beside {
        fn find(&self, number: u32) -> Option<Source> {
            let text = "O7\nG99 G81 X40. Z-8.5 R2. F318.\nX60.\nG80\nM99\n";
            (number == 7).then(|| Source::new("O7.nc", text))
        }
    }
    let mut case = Case::plate("");
    case.library = Box::new(Beside);
    let program = format!("{HEAD}N60 M98 P7\nN70 M30\n");
    case.report = check(Source::new("main.nc", program.as_bytes()), case.job.as_ref(), &Beside, &case.options);
    let patch = case.patch();
    assert!(case.cured(&patch).contains("exit-feed-high"), "{:?}", patch.verdict());
    let diff = String::from_utf8(patch.diff()).unwrap();
    assert!(diff.starts_with("--- a/O7.nc\n+++ b/O7.nc\n"), "{diff}");
    assert!(diff.contains("+G0 X60.\n+G1 Z-5.32 F318.\n"), "{diff}");
}
