//! Passes that one would do: suggested, never written.

use super::{HEAD, Part, plate_job, text, tuned, without};
use crate::tune::cuts::trim_job;
use lastply::job::Job;
use lastply::render::{Look, tune_json, tune_report};
use lastply::tune::{Suggestion, Tuned};

/// The upper edge in passes, each with its Y, its depth and its feed.
fn passes(at: &[(f64, f64, u32)]) -> String {
    let mut text = "G21 G90 G94 G17 G40 G49 G80\nT2 M6\nS10000 M3 M7\nG0 G43 H2 X-20 Y105 Z5\n".to_owned();
    for (y, z, feed) in at {
        text += &format!("G0 X-20 Y{y}\nG0 Z{z}\nG1 X220 F{feed}\nG0 Z5\n");
    }
    text + "M30\n"
}

fn suggested(program: &str, job: &Job) -> (Tuned, Vec<Suggestion>) {
    let tuned = tuned(program.as_bytes(), job, &[Part::Feeds]);
    let suggestions = tuned.suggestions.clone();
    (tuned, suggestions)
}

#[test]
fn passes_one_above_the_other_are_one_where_the_flutes_are_long_enough() {
    let job = trim_job(|job| job);
    let program = passes(&[(105.0, -2.5, 2160), (105.0, -5.0, 2160), (105.0, -7.0, 2160)]);
    let (tuned, found) = suggested(&program, &job);
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    let [one] = found.as_slice() else { panic!("{found:?}") };
    assert!(one.tool == 2 && one.what.contains("3 cuts one above the other") && one.what.contains("Z-7"), "{one:?}");
    let why = one.why.join("\n");
    for words in ["7 mm deep, flutes 22 mm", "tool.2.flute_length", "laminate.panel.trim.tooth_ceiling", "not judged"] {
        assert!(why.contains(words), "{words} in {why}");
    }
    assert!(one.seconds.is_some_and(|seconds| (11.0..14.0).contains(&seconds)), "{one:?}");
    let report = tune_report(&tuned, &job, &Look::default());
    let words = report.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("merge not written: T2 diamond router 10, 3 cuts one above the other"), "{report}");
    let json: serde_json::Value = serde_json::from_str(&tune_json(&tuned, &job)).unwrap();
    assert_eq!(json["suggestions"][0]["what"], one.what.as_str());
}

#[test]
fn passes_stay_where_one_would_break_a_limit_or_a_limit_is_not_known() {
    let program = passes(&[(105.0, -3.5, 2160), (105.0, -7.0, 2160)]);
    let none = |change: fn(String) -> String| suggested(&program, &trim_job(change)).1;
    assert!(
        none(|job| job.replacen("end_cutting = false\nflute_length = 22", "end_cutting = false\nflute_length = 6", 2))
            .is_empty()
    );
    assert!(none(|job| job.replace("flute_length = 22\n", "")).is_empty(), "flutes not given");
    assert!(none(|job| job.replace(", tooth_ceiling = 0.120", "")).is_empty(), "no ceiling");
    assert_eq!(none(|job| job).len(), 1);
    // Another way: the second pass lies farther out.
    let aside = passes(&[(105.0, -3.5, 2160), (106.0, -7.0, 2160)]);
    assert!(suggested(&aside, &trim_job(|job| job)).1.is_empty());
}

/// The panel with so much raw material round it, mm.
fn panel(margin: &str) -> Job {
    trim_job(|job| job.replace("raw_margin = 10", &format!("raw_margin = {margin}")))
}

#[test]
fn passes_side_by_side_are_one_where_the_whole_width_keeps_its_limits() {
    let program = passes(&[(106.0, -7.0, 2160), (105.0, -7.0, 2160)]);
    let (tuned, found) = suggested(&program, &panel("3"));
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    let [one] = found.as_slice() else { panic!("{found:?}") };
    assert!(one.tool == 2 && one.what.contains("2 cuts side by side over 20"), "{one:?}");
    let why = one.why.join("\n");
    for words in ["7 mm deep, flutes 22 mm", "laminate.panel.trim.tooth_ceiling", "laminate.panel.trim.tooth_floor"] {
        assert!(why.contains(words), "{words} in {why}");
    }
    // 208 mm of the first pass at 36 mm/s.
    assert!(one.seconds.is_some_and(|seconds| (5.5..6.5).contains(&seconds)), "{one:?}");
}

#[test]
fn passes_behind_a_drilled_hole_lie_where_they_are_until_the_origin_moves() {
    let behind = |shift: &str| {
        let drilled =
            format!("T4 M6\nS10000 M3 M7\nG0 G43 H4 X20 Y20 Z5\nG99 G81 X20 Y20 Z-8 R2 F400\nX40\nG80\n{shift}");
        passes(&[(106.0, -7.0, 2160), (105.0, -7.0, 2160)]).replacen("T2 M6\n", &format!("{drilled}G0 Z50\nT2 M6\n"), 1)
    };
    assert_eq!(suggested(&behind(""), &panel("3")).1.len(), 1);
    assert!(suggested(&behind("G52 X300 Y0\n"), &panel("3")).1.is_empty(), "another part of the table");
}

#[test]
fn passes_round_the_outline_are_one_too() {
    let ring = |out: f64| {
        let (left, right, low, high) = (-out, 200.0 + out, -out, 100.0 + out);
        format!(
            "G0 X{left} Y-20\nG0 Z-7\nG1 Y{low} F2160\nG1 Y{high}\nG1 X{right}\nG1 Y{low}\nG1 X{left}\nG1 X-20\nG0 Z5\n"
        )
    };
    let head = "G21 G90 G94 G17 G40 G49 G80 G54\nT2 M6\nS10000 M3 M7\nG0 G43 H2 X-20 Y-20 Z5\n";
    let program = format!("{head}{}{}M30\n", ring(6.0), ring(5.0));
    let (_, found) = suggested(&program, &panel("3"));
    let [one] = found.as_slice() else { panic!("{found:?}") };
    assert!(one.what.contains("2 cuts side by side over 6"), "{one:?}");
}

#[test]
fn passes_side_by_side_stay_where_one_would_be_a_slot_or_they_run_against_each_other() {
    let beside = passes(&[(106.0, -7.0, 2160), (105.0, -7.0, 2160)]);
    assert_eq!(suggested(&beside, &panel("8")).1.len(), 1);
    assert!(suggested(&beside, &panel("10")).1.is_empty(), "the whole width of the cutter");
    let against = beside.replacen("G0 X-20 Y106\nG0 Z-7\nG1 X220", "G0 X220 Y106\nG0 Z-7\nG1 X-20", 1);
    assert!(suggested(&against, &panel("3")).1.is_empty(), "one climbs, the other does not");
    let shallow = beside.replacen("G0 Z-7\n", "G0 Z-3\n", 1);
    assert!(suggested(&shallow, &panel("3")).1.is_empty(), "not equally deep");
}

/// A pilot of 3 mm and the drill of 6 mm behind it, at two places.
fn piloted(feed: &str) -> String {
    let head = HEAD.replace("T6", "T14").replace("H6", "H14");
    let drilled = |feed: &str| format!("G99 G81 X20. Y20. Z-8.303 R2. F{feed}\nX30.\nG80\n");
    format!("{head}{}T6 M6\nS6366 M3\nG4 P2.5\nG0 G43 H6 X20. Y20. Z5.\n{}M30\n", drilled("200."), drilled(feed))
}

/// The plate job with drill 14 as a pilot of 3 mm.
fn pilot_job(change: impl Fn(String) -> String) -> Job {
    plate_job(|job| {
        let (head, tail) = job.split_once("[tool.14]").unwrap();
        change(format!("{head}[tool.14]{}", tail.replacen("diameter = 6.0", "diameter = 3.0", 1)))
    })
}

fn tough(job: String) -> String {
    job.replace("fracture_energy = 0.25", "fracture_energy = 4.0")
}

#[test]
fn a_pilot_is_spared_where_the_drill_keeps_its_limits_alone() {
    // Plies that hold together so well leave the drill a window at the exit.
    let job = pilot_job(tough);
    let (tuned, found) = suggested(&piloted("160."), &job);
    let [one] = found.as_slice() else { panic!("{found:?}\n{}", text(&tuned)) };
    assert!(one.tool == 6 && one.what.contains("2 holes: 3 mm by T14, then 6 mm by T6"), "{one:?}");
    let why = one.why.join("\n");
    assert!(why.contains("critical thrust") && why.contains("not judged"), "{why}");
    assert!(one.seconds.is_some_and(|seconds| seconds > 4.0), "{one:?}");
}

#[test]
fn a_pilot_stays_where_thrust_is_not_known_or_the_drawing_lists_it() {
    let holes = "\n[[holes]]\nid = \"A\"\ndiameter = 6.0\nthrough = true\ntools = [14, 6]\npositions = [{ x = 20, y = 20 }, { x = 30, y = 20 }]\n";
    let drawn = pilot_job(|job| tough(job) + holes);
    assert!(suggested(&piloted("160."), &drawn).1.is_empty(), "the drawing lists it");
    let unknown = pilot_job(|job| without("thrust = ")(tough(job)));
    assert!(suggested(&piloted("160."), &unknown).1.is_empty(), "no law of thrust");
    assert!(suggested(&piloted("160."), &pilot_job(|job| job)).1.is_empty(), "the last ply would be pushed out");
}
