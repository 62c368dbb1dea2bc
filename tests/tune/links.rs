//! What is fed through air.

use super::{Part, holds, lines_with, text, tuned};
use crate::tune::cuts::trim_job;
use lastply::job::Job;

const CLAMP: &str =
    "\n[fixture]\nzones = [{ id = \"C1\", kind = \"clamp\", x = [0, 20], y = [40, 60], z = [-10, 15] }]\n";

/// The trim job with a clamp on the left side of the panel.
fn clamped() -> Job {
    trim_job(|job| job + CLAMP)
}

/// Both long edges, with the way between them fed: up, across, and down again.
fn edges(between: &str) -> String {
    format!(
        "G21 G90 G94 G17 G40 G49 G80\nT2 M6\nS10000 M3 M7\nG0 G43 H2 X-20 Y105 Z5\nG0 Z-7\nG1 X220 F1000\n{between}\
         Z-7 F800\nX-20 F1000\nG0 Z5\nM30\n"
    )
}

#[test]
fn a_way_fed_high_over_the_part_goes_by_rapid_and_the_cut_behind_it_says_g1() {
    let tuned = tuned(edges("Z25 F3000\nX220 Y-5\nZ5\n").as_bytes(), &clamped(), &[Part::Air]);
    holds(&tuned);
    let text = text(&tuned);
    // The way up begins in the cut and stays at feed; the way down to 5 mm does not.
    assert!(text.contains("G1 X220 F1000\nZ25 F3000\nG0 X220 Y-5\nZ5\nG1 Z-7 F800\n"), "{text}\n{:?}", tuned.steps);
    let change = &tuned.steps[0].changes[0];
    assert!(change.what.contains("2 moves") && change.why.join("\n").contains("machine.rapid"), "{change:?}");
    assert!((change.gain.unwrap() - (tuned.before.seconds() - tuned.after.seconds())).abs() < 1e-6);
    assert_eq!(tuned.before.survey.cuts.len(), tuned.after.survey.cuts.len());
}

#[test]
fn own_words_of_the_moves_are_taken_over() {
    let way = "G1 Z25 F3000\nG1 X220 Y-5\nG1 Z5 (NEAR)\nG1 ";
    let tuned = tuned(edges(way).as_bytes(), &clamped(), &[Part::Air]);
    holds(&tuned);
    assert!(text(&tuned).contains("G1 Z25 F3000\nG0 X220 Y-5\nG0 Z5 (NEAR)\nG1 Z-7 F800\n"), "{}", text(&tuned));
}

#[test]
fn a_way_that_runs_near_something_or_low_stays_at_feed_with_its_reason() {
    let near = "Z25 F3000\nX10\nZ18\nX10 Y-5\nZ25\nX220\nG0 Z5\nG1 ";
    let job = clamped();
    let left = |job: &Job, between: &str| {
        let tuned = tuned(edges(between).as_bytes(), job, &[Part::Air]);
        assert!(lines_with(&text(&tuned), "G0 X220 Y").is_empty(), "{}", text(&tuned));
        tuned.steps[0].left.iter().map(|left| left.why.clone()).collect::<Vec<_>>().join("\n")
    };
    assert!(left(&job, near).contains("clamp `C1` is nearer than 5 mm"), "{}", left(&job, near));
    // 1 mm over the face is where lead-ins run.
    assert_eq!(left(&job, "Z1 F3000\nX220 Y-5\n"), "");
    let across = "Z25 F3000\nX220 Y-5\nZ5\n";
    let open = trim_job(|job| job);
    assert!(left(&open, across).contains("`fixture.zones` is not given"), "{}", left(&open, across));
    let unrated = trim_job(|job| job.replace("rapid = {", "# rapid = {") + CLAMP);
    assert!(left(&unrated, across).contains("`machine.rapid` is not given"), "{}", left(&unrated, across));
}

#[test]
fn what_runs_in_a_subprogram_or_on_a_compensated_path_is_not_touched() {
    let job = clamped();
    for between in ["M98 P7\nG1 ", "G41 D2 Z25 F3000\nX220 Y-5\nG40 Z5\n"] {
        let program = format!("{}O7\nG1 Z25 F3000\nX220 Y-5\nZ5\nM99\n", edges(between));
        let tuned = tuned(program.as_bytes(), &job, &[Part::Air]);
        assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    }
}

#[test]
fn where_the_origin_is_shifted_the_zones_of_the_job_are_not_asked() {
    let job = clamped();
    let shifts = [
        "Z25 F3000\nG52 X10\nX210 Y-5\nZ5\nG52 X0\nG1 ",
        "Z25 F3000\nX220 Y-5\nG92 X210\nX200\nZ5\nG92.1\nG1 ",
        "Z25 F3000\nG55\nX100 Y-5 Z25\nX220\nZ5\nG54\nX220 Y-5 Z5\nG1 ",
    ];
    for between in shifts {
        let tuned = tuned(edges(between).as_bytes(), &job, &[Part::Air]);
        assert!(tuned.diff().is_empty(), "{}", text(&tuned));
        let left = &tuned.steps[0].left;
        assert!(left.iter().any(|left| left.why == "the origin is shifted there"), "{left:?}");
    }
    let own = tuned(edges("Z25 F3000\nG54\nX220 Y-5\nZ5\n").as_bytes(), &job, &[Part::Air]);
    assert!(text(&own).contains("G0 X220 Y-5"), "{:?}", own.steps);
}

#[test]
fn a_way_that_a_waiver_speaks_of_stays_at_feed() {
    let waiver = "\n[[waiver]]\nid = \"WV-2\"\nrule = \"machine-feed-exceeded\"\nholes = []\nbound = \"4000 mm/min\"\n\
                  reason = \"trial\"\nraised_by = \"programming\"\napproved_by = \"engineering\"\n\
                  date = \"2026-01-10\"\nexpires = \"2026-12-31\"\nreference = \"DEV-1\"\n";
    let way = "Z25 F1000\nX220 Y-5 F3000\nZ5 F1000\n";
    let slow = |job: String| job.replace("max_feed = 10000", "max_feed = 2000") + CLAMP;
    let waived = tuned(edges(way).as_bytes(), &trim_job(|job| slow(job) + waiver), &[Part::Air]);
    assert!(waived.diff().is_empty(), "{}", text(&waived));
    let left = &waived.steps[0].left;
    assert!(left.iter().any(|left| left.why == "waiver WV-2 speaks of them"), "{left:?} {:?}", waived.before.findings);
    let open = tuned(edges(way).as_bytes(), &trim_job(slow), &[Part::Air]);
    assert!(text(&open).contains("G0 X220 Y-5"), "{:?}", open.steps);
}
