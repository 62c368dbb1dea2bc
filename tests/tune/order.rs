//! Orders that are refused, or kept to: every program here was once put into an order that did other work.

use super::{HEAD, Part, holds, lines_with, plate_job, text, tuned, two_tools, without};
use lastply::job::Job;
use lastply::source::Source;
use lastply::tune::Tuned;

fn ordered(program: &str, job: &Job) -> Tuned {
    let tuned = tuned(program.as_bytes(), job, &[Part::Order]);
    holds(&tuned);
    tuned
}

/// Where holes are made, in order, by their X.
fn visits(tuned: &Tuned) -> Vec<f64> {
    tuned.after.survey.holes.iter().map(|hole| hole.x).collect()
}

#[track_caller]
fn stays_because(tuned: &Tuned, why: &str) {
    assert!(tuned.diff().is_empty(), "{}", text(tuned));
    let left = &tuned.steps[0].left;
    assert!(left.iter().any(|left| left.why.contains(why)), "{left:?}");
}

const ROW: &str = "N60 G99 G81 X20. Y20. Z-8.303 R2. F191.\nN70 X300.\nN80 X40.\nN90 X280.\nN95 X70.\nN100 G80\n";

#[test]
fn holes_stay_where_it_is_not_known_what_stands_between_them() {
    let program = format!("{HEAD}{ROW}N110 M30\n");
    let bare = plate_job(|job| job.split("[fixture]").next().unwrap().to_owned());
    stays_because(&ordered(&program, &bare), "`fixture.zones` is not given");
    let open = plate_job(|job| format!("{}[fixture]\nzones = []\n", job.split("[fixture]").next().unwrap()));
    let tuned = ordered(&program, &open);
    assert_eq!(visits(&tuned), [20.0, 40.0, 70.0, 280.0, 300.0], "an empty list says that nothing stands there");
    let open_question = |rule: &str| tuned.before.not_checked.iter().any(|missing| missing.rule == rule);
    assert!(!open_question("hop-over-clamp"));
    // That no clamp stands there says nothing of the table.
    assert!(open_question("overtravel") && open_question("clearance-short"));
    assert_eq!(visits(&ordered(&program, &plate_job(|job| job))), [20.0, 40.0, 70.0, 280.0, 300.0]);
}

#[test]
fn a_cut_behind_the_holes_is_cut_where_it_was() {
    let job = plate_job(|job| job);
    let row = "G99 G81 X20. Y20. Z-8.303 R2. F191.\nX300. Y60.\nX40. Y20.\nX280. Y60.\nX70. Y20.\nG80\n";
    let slot = "G0 Z50.\nT12 M6\nS10000 M3\nG4 P2.5\nG0 G43 H12 X320. Z5.\nG1 Z-7. F600.\nX360. F1000.\nG0 Z50.\n";
    // Y20 of the cut is the last hole's.
    let tuned = ordered(&format!("{HEAD}{row}{slot}M30\n"), &job);
    assert_eq!(visits(&tuned).last(), Some(&70.0), "{}", text(&tuned));
}

#[test]
fn a_feed_taken_over_from_the_last_hole_is_the_same() {
    let job = plate_job(|job| job);
    let row = "G99 G81 X20. Y20. Z-8.303 R2. F191.\nX300.\nX40.\nX280.\nX70. F180.\nG80\n";
    let tuned = ordered(&format!("{HEAD}{row}G0 Z5.\nG1 X90. Z4.\nG0 Z50.\nM30\n"), &job);
    assert_eq!(visits(&tuned).last(), Some(&70.0), "{}", text(&tuned));
}

/// A stretch that states its work offset with the words given, at holes of its own.
fn stretch(tool: u32, offset: &str, from: u32) -> String {
    format!(
        "T{tool} M6\nS6366 M3 M7\nG4 P2.5\n{offset}G0 G43 H{tool} X{from}. Y20. Z5.\nG99 G81 X{from}. Y20. Z-8.303 R2. \
         F191.\nX{}.\nG80\nG0 Z50.\nM5\n",
        from + 10
    )
}

#[test]
fn a_tool_does_not_move_into_another_work_offset() {
    let job = plate_job(|job| job.replace("[machine]\n", "[machine]\ntool_change = 12.0\n"));
    let program = |second: &str| {
        two_tools(&[stretch(6, "G54\n", 20), stretch(9, second, 200), stretch(6, "", 40), stretch(14, "", 100)])
    };
    let moved = tuned(program("G55\n").as_bytes(), &job, &[Part::Order]);
    assert_eq!(lines_with(&text(&moved), "M6").len(), 4, "{}", text(&moved));
    let kept = tuned(program("").as_bytes(), &job, &[Part::Order]);
    assert_eq!(lines_with(&text(&kept), "M6").len(), 3, "{}", text(&kept));
}

#[test]
fn a_dwell_is_not_taken_from_a_block_that_only_waits() {
    let job = plate_job(|job| job);
    let row = "G99 G82 X20. Y20. Z-8.303 R2. P1.0 F191.\nX300.\nG4 P0.2\nX40.\nX280.\nX70.\nX260.\nG80\n";
    let tuned = ordered(&format!("{HEAD}{row}M30\n"), &job);
    assert_eq!(visits(&tuned), [20.0, 300.0, 280.0, 260.0, 70.0, 40.0], "{}", text(&tuned));
}

#[test]
fn no_hole_passes_a_comment_between_holes() {
    let job = plate_job(|job| job);
    let row = |comment: &str| {
        format!("{HEAD}G99 G81 X20. Y20. Z-8.303 R2. F191.\nX300.\nX40.\n{comment}X280.\nX70.\nX260.\nX90.\nG80\nM30\n")
    };
    let marked = ordered(&row("(THE REST, PINS ARE IN)\n"), &job);
    assert_eq!(visits(&marked)[..3], [20.0, 40.0, 300.0], "{}", text(&marked));
    assert_eq!(visits(&ordered(&row("\n"), &job)), [20.0, 40.0, 70.0, 90.0, 260.0, 280.0, 300.0]);
}

/// The plate job with the holes of [`ROW`] on the drawing, as groups P and Q, and these orders pinned.
fn pinned(pins: &str) -> String {
    let holes = |id: &str, places: &[u32]| {
        let at: Vec<String> = places.iter().map(|x| format!("{{ x = {x}, y = 20 }}")).collect();
        format!(
            "[[holes]]\nid = \"{id}\"\ndiameter = 6.0\nthrough = true\ntools = [6]\npositions = [{}]\n",
            at.join(", ")
        )
    };
    format!("{}{}[tune]\npin = {pins}\n", holes("P", &[300, 280]), holes("Q", &[20, 40, 70]))
}

#[test]
fn what_the_job_pins_comes_first() {
    let program = format!("{HEAD}{ROW}N110 M30\n");
    let visits = |pins: &str| {
        let job = plate_job(|job| format!("{job}{}", pinned(pins)));
        visits(&ordered(&program, &job))
    };
    assert_eq!(visits("[]"), [20.0, 40.0, 70.0, 280.0, 300.0]);
    assert_eq!(visits("[[\"Q1\", \"P1\", \"P2\"]]")[3..], [300.0, 280.0]);
    assert_eq!(visits("[[\"P\", \"Q\"]]")[..2], [280.0, 300.0]);
    let job = plate_job(|job| format!("{job}{}", pinned("[[\"P\", \"Q\"]]")));
    let why = ordered(&program, &job).steps[0].changes[0].why.join(" ");
    assert!(why.contains("tune.pin"), "{why}");
    // A hole of a group before the rest of it.
    assert_eq!(visits("[[\"Q3\", \"Q\"]]")[0], 70.0);
}

#[test]
fn pins_that_contradict_each_other_are_an_error_of_the_job() {
    let text = |pins: &str| {
        let plate = include_str!("../jobs/plate.toml");
        format!("{plate}{}", pinned(pins))
    };
    let load = |pins: &str| Job::load(&Source::new("p.job.toml", text(pins)), &lastply::job::NoFiles);
    for pins in ["[[\"P1\", \"Q1\"], [\"Q1\", \"P1\"]]", "[[\"P1\", \"P1\"]]"] {
        let errors = load(pins).unwrap_err();
        assert!(format!("{errors:?}").contains("before itself"), "{errors:?}");
    }
    assert!(load("[[\"P1\", \"Q1\"], [\"Q1\", \"P2\"]]").is_ok());
}

#[test]
fn a_shifted_origin_does_not_move_the_clamps() {
    let job = plate_job(|job| job);
    let holes = "G99 G81 X20. Y0. Z-8.303 R2. F191.\nX300.\nX35.\nX280.\nX70.\nG80\n";
    let plain = ordered(&format!("{HEAD}G0 X20. Y0.\n{holes}M30\n"), &job);
    let shifted = holes.replace("Y0.", "Y300.");
    let shifted = ordered(&format!("{HEAD}G52 X0. Y-300.\nG0 X20. Y300.\n{shifted}G52 X0. Y0.\nM30\n"), &job);
    assert_eq!(visits(&plain), visits(&shifted), "{}\n{}", text(&plain), text(&shifted));
    let hops = |tuned: &Tuned| lines_with(&text(tuned), "G98").len();
    assert_eq!(hops(&plain), hops(&shifted), "{}\n{}", text(&plain), text(&shifted));
}

#[test]
fn what_has_no_top_is_gone_round_or_left() {
    let zone = "{ id = \"K\", kind = \"keep-out\", x = [150, 160], y = [0, 40] },\n  { id = \"Q1\"";
    let job = plate_job(|job| job.replace("{ id = \"Q1\"", zone));
    let hole = |(x, y): (u32, u32)| format!("G0 X{x}. Y{y}.\nZ2.\nG1 Z-8.303 F191.\nG0 Z2.\n");
    let places = [(140, 20), (140, 100), (300, 20), (180, 100), (280, 20), (20, 20), (170, 20), (60, 30)];
    let tuned = ordered(&format!("{HEAD}G0 X140. Y20.\n{}M30\n", places.map(hole).concat()), &job);
    assert!(!text(&tuned).contains("inf"), "{}", text(&tuned));
}

#[test]
fn the_gain_told_is_the_gain_replayed() {
    let job = plate_job(without("{ id = \"C1\""));
    let holes = ["G98 G81 X20. Y20. Z-8.303 R2. F191.", "X300.", "G99 X40.", "G98 X280.", "X60.", "X260.", "G80"];
    let tuned = ordered(&format!("{HEAD}{}\nM30\n", holes.join("\n")), &job);
    let gain = tuned.steps[0].changes[0].gain.unwrap();
    let replayed = tuned.before.seconds() - tuned.after.seconds();
    assert!((gain - replayed).abs() < 0.02, "{gain} told, {replayed} replayed\n{}", text(&tuned));
}

#[test]
fn the_way_told_is_the_way_the_bound_is_of() {
    let job = plate_job(|job| job);
    let hole = |x: u32| format!("G0 X{x}. Y20.\nZ3.\nG1 Z-8.303 F191.\nG0 Z50.\n");
    let tuned = ordered(&format!("{HEAD}{}M30\n", [20, 300, 40, 280, 70, 260].map(hole).concat()), &job);
    let why = tuned.steps[0].changes[0].why.join(" ");
    assert!(why.contains("within 0 % of the best"), "{why}");
}

#[test]
fn a_hole_come_to_higher_than_before_is_gone_down_to_by_rapid() {
    let job = plate_job(|job| job);
    let hole = |x: u32| format!("G0 X{x}. Y20.\nG1 Z-8.303 F191.\nG0 Z2.\n");
    // The nearest to where the tool comes from is not the first.
    let head = HEAD.replace("X20. Y20. Z5.", "X20. Y20. Z30.");
    let first = "G0 X300. Y20.\nZ2.\nG1 Z-8.303 F191.\nG0 Z2.\n";
    let tuned = ordered(&format!("{head}{first}{}M30\n", [40, 280, 70].map(hole).concat()), &job);
    assert_eq!(visits(&tuned), [40.0, 70.0, 280.0, 300.0], "{:?}", tuned.steps);
    assert!(text(&tuned).contains("G0 X40. Y20.\nG0 Z2.\nG1 Z-8.303"), "{}", text(&tuned));
    assert_eq!(lines_with(&text(&tuned), "Z-8.303").len(), 4);
    // A hole that goes down by itself needs no second rapid.
    let own = |x: u32| format!("G0 X{x}. Y20.\nG0 Z2.\nG1 Z-8.303 F191.\nG0 Z2.\n");
    let tuned = ordered(&format!("{head}{first}{}M30\n", [40, 280, 70].map(own).concat()), &job);
    assert_eq!(visits(&tuned), [40.0, 70.0, 280.0, 300.0], "{:?}", tuned.steps);
    assert!(!text(&tuned).contains("Z2.\nG0 Z2.\nG1"), "{}", text(&tuned));
}

#[test]
fn gains_of_rows_add_up_to_what_the_program_saves() {
    let job = plate_job(|job| job);
    let row = "G99 G81 X20. Y20. Z-8.303 R2. F191.\nX300.\nX40.\nX280.\nG80\n";
    let second = "M1\nG99 G81 X200. Y60. Z-8.303 R2. F191.\nX40.\nX140.\nX20. Y90.\nX160.\nG80\n";
    let tuned = ordered(&format!("{HEAD}{row}{second}M30\n"), &job);
    let step = &tuned.steps[0];
    let told: f64 = step.changes.iter().filter_map(|change| change.gain).sum();
    assert!(step.changes.len() == 2 && (told - (step.seconds.0 - step.seconds.1)).abs() < 1e-6, "{step:?}");
}
