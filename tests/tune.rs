//! Tuning end to end: faster, inside every limit, and accepted by the public tools that apply diffs.

mod cuts;
mod links;
mod merge;
mod order;
mod speeds;
mod truth;

use crate::published::patch_tools::tools_give;
use lastply::check::{Options, check};
use lastply::diagnostic::Status;
use lastply::job::{Job, NoFiles};
use lastply::operation::{Cut, StrokeKind};
use lastply::render::{Look, tune_report};
use lastply::source::{NoLibrary, Source};
use lastply::tune::{Part, Run, Task, Tuned, operations, tune};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// A program tuned by some parts under a job.
fn tuned(program: &[u8], job: &Job, parts: &[Part]) -> Tuned {
    let options = Options { keep_stretches: true, ..Options::of_job(Some(job)).unwrap() };
    let replay = |source: Source| -> Run { check(source, Some(job), &NoLibrary, &options).into() };
    let task = Task {
        job,
        settings: &options.settings,
        tools: &options.tools,
        library: &NoLibrary,
        replay: &replay,
        progress: &|_| {},
    };
    tune(Source::new("part.nc", program), parts, &task)
}

fn job_of(text: &[u8]) -> Job {
    Job::load(&Source::new("part.job.toml", text), &NoFiles).unwrap()
}

fn plate_job(change: impl Fn(String) -> String) -> Job {
    job_of(change(fs::read_to_string(root().join("tests/jobs/plate.toml")).unwrap()).as_bytes())
}

/// The job without the lines that hold a text.
fn without(what: &'static str) -> impl Fn(String) -> String {
    move |job| job.lines().filter(|line| !line.contains(what)).map(|line| format!("{line}\n")).collect()
}

/// Start of a program for the plate job, tool 6 at speed above the first hole.
const HEAD: &str =
    "N10 G21 G90 G94 G17 G40 G49 G80 G54\nN20 T6 M6\nN30 S6366 M3 M7\nN40 G4 P2.5\nN50 G0 G43 H6 X20. Y20. Z5.\n";

fn text(tuned: &Tuned) -> String {
    String::from_utf8(tuned.text().to_vec()).unwrap()
}

/// What holds of every tuned program: the diff gives it, nothing new is found, and nothing got slower.
#[track_caller]
fn holds(tuned: &Tuned) {
    if !tuned.diff().is_empty() {
        tools_give("part.nc", &tuned.before.sources[0].bytes, &tuned.diff(), tuned.text());
    }
    let open = |run: &Run| {
        let mut places: BTreeMap<&'static str, usize> = BTreeMap::new();
        for finding in run.findings.iter().filter(|finding| finding.status == Status::Open) {
            *places.entry(finding.rule).or_default() += finding.places.len().max(1);
        }
        places
    };
    let before = open(&tuned.before);
    for (rule, places) in open(&tuned.after) {
        assert!(before.get(rule).is_some_and(|known| places <= *known), "{rule} at {places} places, before {before:?}");
    }
    assert!(tuned.after.seconds() <= tuned.before.seconds() + 1e-9);
    assert_eq!(holes(&tuned.before), holes(&tuned.after));
    assert_eq!(cuts(&tuned.before), cuts(&tuned.after));
}

/// Where each hole is made, by which tool, how deep and with how long a dwell, in order of place.
fn holes(run: &Run) -> Vec<String> {
    let mut holes: Vec<String> = Vec::new();
    for hole in &run.survey.holes {
        let recipe = run.survey.recipe_of(hole).unwrap();
        let dwells = recipe.strokes.iter().filter_map(|stroke| match stroke.kind {
            StrokeKind::Dwell(seconds) => seconds,
            _ => None,
        });
        let dwell: f64 = dwells.sum();
        holes.push(format!("{:.3} {:.3} T{} to {:.3}, {dwell:.2} s", hole.x, hole.y, recipe.tool, recipe.bottom));
    }
    holes.sort_unstable();
    holes
}

/// Each cut with its tool, depth, length and place.
fn cuts(run: &Run) -> Vec<String> {
    let cut = |cut: &Cut| {
        let at = cut.stretches.first().map(|stretch| stretch.at);
        format!("T{} to {:.3} over {:.2} at {at:.2?}", cut.tool, cut.lowest, cut.length)
    };
    run.survey.cuts.iter().map(cut).collect()
}

#[test]
fn sample_programs_get_faster_and_stay_clean() {
    let mut gained = 0;
    for folder in fs::read_dir(root().join("programs")).unwrap() {
        let folder = folder.unwrap().path();
        if !folder.is_dir() {
            continue;
        }
        let names = fs::read_dir(&folder).unwrap().map(|entry| entry.unwrap().path());
        let job = names.into_iter().find(|path| path.to_string_lossy().ends_with(".job.toml")).unwrap();
        let program = job.to_string_lossy().replace(".job.toml", ".nc");
        let tuned = tuned(&fs::read(program).unwrap(), &job_of(&fs::read(&job).unwrap()), &Part::ALL);
        holds(&tuned);
        gained += usize::from(tuned.after.seconds() < tuned.before.seconds());
    }
    assert!(gained >= 4, "only {gained} sample programs got faster");
}

#[test]
fn a_feed_rises_to_its_ceiling_less_the_margin() {
    let job = plate_job(without("plate = "));
    let program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.303 R2. F100.\nN70 X30.\nN80 G80\nN90 M30\n");
    let tuned = tuned(program.as_bytes(), &job, &[Part::Feeds]);
    holds(&tuned);
    let now = operations(&tuned.after, &job);
    let held = now[0].held.as_ref().unwrap();
    let share = now[0].feed.0 / held.most.0;
    assert!((0.88..=0.9).contains(&share), "{share} of {held:?}");
    let why = &tuned.steps[0].changes[0].why;
    assert!(why[0].contains(held.by) && why[0].contains(&held.origin), "{why:?}");
}

#[test]
fn a_feed_without_a_ceiling_is_left_alone_and_the_key_named() {
    let job = plate_job(without("ceiling"));
    let program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.303 R2. F100.\nN80 G80\nN90 M30\n");
    let tuned = tuned(program.as_bytes(), &job, &[Part::Feeds]);
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    let left = &tuned.steps[0].left;
    assert!(left.iter().any(|left| left.why.contains("rev_ceiling")), "{left:?}");
}

#[test]
fn a_feed_stops_at_what_the_machine_does() {
    let slow = |job: String| without("plate = ")(job.replace("max_feed = 6000", "max_feed = 150"));
    let program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.303 R2. F100.\nN80 G80\nN90 M30\n");
    let tuned = tuned(program.as_bytes(), &plate_job(slow), &[Part::Feeds]);
    assert!(text(&tuned).contains("F150."), "{}", text(&tuned));
    assert!(tuned.steps[0].changes[0].why[0].contains("machine"));
}

/// Words of the lines that hold a text.
fn lines_with<'t>(text: &'t str, what: &str) -> Vec<&'t str> {
    text.lines().filter(|line| line.contains(what)).collect()
}

#[test]
fn holes_are_visited_by_least_rapid_time_and_every_block_means_the_same() {
    let job = plate_job(|job| job);
    let places = [(20, 20), (300, 20), (40, 20), (280, 20), (60, 20), (260, 20), (80, 20), (240, 20)];
    let mut program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.303 R2. F191.\n");
    for (number, (x, _)) in places.iter().enumerate().skip(1) {
        program += &format!("N{} X{x}.\n", 60 + 10 * number);
    }
    program += "N200 G80\nN210 M30\n";
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    holds(&tuned);
    let gone: Vec<f64> = tuned.after.survey.holes.iter().map(|hole| hole.x).collect();
    assert_eq!(gone, [20.0, 40.0, 60.0, 80.0, 240.0, 260.0, 280.0, 300.0]);
    let (before, after) = (&tuned.before.survey.times, &tuned.after.survey.times);
    assert!(after.rapid < 0.6 * before.rapid, "{} to {} s", before.rapid, after.rapid);
    let gain = tuned.steps[0].changes[0].gain.unwrap();
    assert!(
        (before.rapid - after.rapid - gain).abs() < 0.01,
        "{gain} s told, {} s replayed",
        before.rapid - after.rapid
    );
}

#[test]
fn a_block_that_comes_first_states_its_cycle_and_one_that_follows_does_not() {
    let job = plate_job(|job| job);
    let program = format!(
        "{HEAD}N60 G99 G81 X200. Y20. Z-8.303 R2. F191.\nN70 Y60.\nN80 X40.\nN90 Y20.\nN100 X120.\nN110 G80\nN120 M30\n"
    );
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    holds(&tuned);
    let text = text(&tuned);
    assert_eq!(lines_with(&text, "G81").len(), 1, "{text}");
    assert!(text.contains("N60 G99 G81 X40. Y20. Z-8.303 R2. F191.\n"), "{text}");
    let numbers: Vec<&str> = text.lines().filter_map(|line| line.split(' ').next()).collect();
    assert!(numbers.is_sorted_by_key(|number| number[1..].parse::<u32>().unwrap()), "{numbers:?}");
}

#[test]
fn a_clamp_is_hopped_over_where_the_new_order_passes_it() {
    let job = plate_job(|job| job);
    let head = HEAD.replace("Z5.", "Z25.").replace("X20. Y20.", "X20. Y0.");
    let program = format!(
        "{head}N60 G98 G81 X20. Y0. Z-8.303 R2. F191.\nN70 X80.\nN80 X30.\nN90 G99 X70.\nN100 X90.\nN110 G80\nN120 M30\n"
    );
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    holds(&tuned);
    let text = text(&tuned);
    let gone: Vec<f64> = tuned.after.survey.holes.iter().map(|hole| hole.x).collect();
    assert_eq!(gone, [20.0, 30.0, 70.0, 80.0, 90.0], "{text}");
    assert_eq!(lines_with(&text, "G98"), ["N70 G98 X30."], "{text}");
}

#[test]
fn holes_written_move_by_move_move_as_one() {
    let job = plate_job(|job| job);
    let hole = |x: u32| format!("G0 X{x}. Y20.\nZ2.\nG1 Z-5.3 F318.\nZ-8.303 F191.\nG0 Z2.\n");
    let program = format!("{HEAD}{}N990 M30\n", [20, 280, 60, 240, 100, 200].map(hole).concat());
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    holds(&tuned);
    let gone: Vec<f64> = tuned.after.survey.holes.iter().map(|hole| hole.x).collect();
    assert_eq!(gone, [20.0, 60.0, 100.0, 200.0, 240.0, 280.0], "{}", text(&tuned));
}

#[test]
fn a_row_in_the_quickest_order_stays_and_says_how_far_from_the_best_it_can_be() {
    let job = plate_job(|job| job);
    let program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.303 R2. F191.\nN70 X40.\nN80 X60.\nN90 G80\nN100 M30\n");
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    let [left] = tuned.steps[0].left.as_slice() else { panic!("{:?}", tuned.steps[0].left) };
    assert_eq!(left.what, "order of 3 holes with T6");
    assert_eq!(left.why, "no quicker one was found; by the 1-tree bound this one is within 0 % of the best");
}

#[test]
fn what_cannot_be_moved_safely_stays_with_its_reason() {
    let job = plate_job(|job| job);
    let row = "N60 G99 G81 X20. Y20. Z-8.303 R2. F191.\nN70 X300.\nN80 X40.\nN90 X280.\nN100 G80\n";
    let cases = [
        (format!("{HEAD}{row}N110 GOTO 130\nN130 M30\n"), "jumps"),
        (format!("{HEAD}{}N110 M30\n", row.replace("N70 X300.", "N70 G91 X280.\nN75 G90")), "stands in their blocks"),
        (format!("{HEAD}N60 M98 P7\nN110 M30\nO7\n{row}M99\n"), "subprogram"),
    ];
    for (program, why) in cases {
        let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
        assert!(tuned.diff().is_empty(), "{why}: {}", text(&tuned));
        let left = &tuned.steps[0].left;
        assert!(left.iter().any(|left| left.why.contains(why)), "{why}: {left:?}");
    }
}

fn access_cover() -> (Job, Tuned) {
    let folder = root().join("programs/access_cover");
    let job = Job::load(
        &Source::new("access_cover_op50.job.toml", fs::read(folder.join("access_cover_op50.job.toml")).unwrap()),
        &NoFiles,
    )
    .unwrap();
    let program = fs::read(folder.join("access_cover_op50.nc")).unwrap();
    let tuned = tuned(&program, &job, &Part::ALL);
    (job, tuned)
}

#[test]
fn the_report_explains_every_second_of_the_access_cover() {
    let (job, tuned) = access_cover();
    holds(&tuned);
    assert_eq!(tuned.after.survey.holes.len(), 96);
    assert!(tuned.after.seconds() < 0.5 * tuned.before.seconds());
    assert!(tuned.after.findings.is_empty() && !tuned.after.not_checked.iter().any(|missing| missing.needed));
    for step in tuned.steps.iter().filter(|step| !step.changes.is_empty()) {
        let told: f64 = step.changes.iter().filter_map(|change| change.gain).sum();
        let saved = step.seconds.0 - step.seconds.1;
        // Each change is told alone; where one hole's end meets the next one's start they share a stop.
        assert!((told - saved).abs() < 0.25 * saved + 1.0, "{}: {told} s told, {saved} s saved", step.part.word());
    }
    insta::assert_snapshot!("access_cover", tune_report(&tuned, &job, &Look::default()));
}

#[test]
fn every_new_number_names_its_limit_and_where_that_comes_from() {
    let (_, tuned) = access_cover();
    for change in tuned.steps.iter().flat_map(|step| &step.changes) {
        assert!(!change.why.is_empty(), "{change:?}");
    }
    let stages = tuned.steps.iter().find(|step| step.part == Part::Exit).unwrap();
    let why = stages.changes[0].why.join("\n");
    for origin in ["laminate.cover-6.entry.feed", "laminate.cover-6.rev_ceiling", "laminate.cover-6.exit.feed"] {
        assert!(why.contains(origin), "{why}");
    }
}

#[test]
fn the_same_program_gives_the_same_bytes() {
    assert_eq!(access_cover().1.text(), access_cover().1.text());
}

/// One stretch of a tool of the plate job that drills at these places.
fn stretch(tool: u32, places: &[u32]) -> String {
    let mut text =
        format!("(TOOL {tool})\nT{tool} M6\nS6366 M3 M7\nG4 P2.5\nG0 G43 H{tool} X{}. Y20. Z5.\n", places[0]);
    text += &format!("G99 G81 X{}. Y20. Z-8.303 R2. F191.\n", places[0]);
    for place in &places[1..] {
        text += &format!("X{place}.\n");
    }
    text + "G80\nG0 Z50.\nM5\n"
}

fn two_tools(stretches: &[String]) -> String {
    format!("G21 G90 G94 G17 G40 G49 G80 G54\n{}M30\n", stretches.concat())
}

#[test]
fn a_tool_that_would_come_back_stays_in_the_spindle() {
    let job = plate_job(|job| job.replace("[machine]\n", "[machine]\ntool_change = 12.0\n"));
    let program = two_tools(&[stretch(6, &[20, 30]), stretch(9, &[200, 210]), stretch(6, &[40, 50])]);
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    holds(&tuned);
    let text = text(&tuned);
    let changes = lines_with(&text, "M6");
    assert_eq!(changes, ["T9 M6", "T6 M6"], "{text}\n{:?}", tuned.steps);
    assert!(tuned.before.seconds() - tuned.after.seconds() > 11.0);
}

#[test]
fn a_hole_keeps_the_order_of_its_tools() {
    let job = plate_job(|job| job);
    let program = two_tools(&[stretch(6, &[20, 30]), stretch(9, &[20, 30]), stretch(6, &[40, 20])]);
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    assert_eq!(lines_with(&text(&tuned), "M6").len(), 3);
}

#[test]
fn precedences_that_contradict_each_other_are_named() {
    let job = plate_job(|job| format!("{job}\n[tune]\npin = [[\"T9\", \"T6\"]]\n"));
    let program = two_tools(&[stretch(6, &[20, 30]), stretch(9, &[20, 40]), stretch(6, &[60, 70])]);
    let tuned = tuned(program.as_bytes(), &job, &[Part::Order]);
    assert!(tuned.diff().is_empty());
    let said = tuned.steps[0].contradiction.as_deref().unwrap();
    assert!(said.contains("T6 of line 3 before T9 of line 13 (they work at the same hole)"), "{said}");
    assert!(said.contains("T9 of line 13 before T6 of line 3 (the job pins it)"), "{said}");
}
