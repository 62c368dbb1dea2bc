//! Feeds of trimming and of circled holes.

use super::{Part, holds, job_of, root, text, tuned};
use lastply::job::Job;
use lastply::tune::operations;
use std::fs;

pub fn trim_job(change: impl Fn(String) -> String) -> Job {
    job_of(change(fs::read_to_string(root().join("tests/jobs/trim.toml")).unwrap()).as_bytes())
}

const HEAD: &str = "G21 G90 G94 G17 G40 G49 G80\nT2 M6\nS10000 M3 M7\n";

/// The upper edge in one move.
pub fn edge(feed: u32) -> String {
    format!("{HEAD}G0 G43 H2 X-20 Y105 Z5\nG0 Z-7\nG1 X220 F{feed}\nG0 Z5\nM30\n")
}

#[test]
fn a_cut_rises_to_its_ceiling_less_the_margin() {
    let tuned = tuned(edge(1000).as_bytes(), &trim_job(|job| job), &[Part::Speeds, Part::Feeds]);
    holds(&tuned);
    // 0.12 mm/tooth, 2 edges, 10 000 rev/min: 2400 mm/min, less 10 %.
    assert!(text(&tuned).contains("G1 X220 F2160\n"), "{}", text(&tuned));
    let step = &tuned.steps[1];
    assert!(step.changes[0].why[0].contains("laminate.panel.trim.tooth_ceiling"), "{:?}", step.changes);
    assert!((step.seconds.0 - step.seconds.1 - step.changes[0].gain.unwrap()).abs() < 1.0, "{step:?}");
    // 600 m/min would be 19 098 rev/min and the machine turns 18 000; but no law says what that costs in life.
    let speed = tuned.steps[0].left.iter().find(|left| left.what.contains("speed of T2")).unwrap();
    assert!(speed.why.contains("17188") && speed.why.contains("`tool.2.life.law`"), "{speed:?}");
}

#[test]
fn an_arc_gets_a_feed_of_its_own_before_the_lines_beside_it_rise() {
    let program = format!(
        "{HEAD}G0 G43 H2 X77 Y48 Z20\nG1 Z1 F5000\nX123 Z-2 F600\nX77 Z-5\nX123 Z-7\nX77\nX123\nG3 Y52 J2\nG1 X77\nG0 Z5\nM30\n"
    );
    let tuned = tuned(program.as_bytes(), &trim_job(|job| job), &[Part::Feeds]);
    holds(&tuned);
    // The wall lies at 7 mm, the centre runs on 2 mm: the wall is fed 3.5 times as fast.
    let text = text(&tuned);
    for line in ["X123 Z-2 F2160\n", "G3 Y52 J2 F617\n", "G1 X77 F2160\n"] {
        assert!(text.contains(line), "{line} in {text}");
    }
}

#[test]
fn a_cut_is_fed_no_faster_than_the_machine_gets() {
    // From stop to stop over 240 mm at 0.002 m/s2: 1315 mm/min.
    let slow = |job: String| job.replace("acceleration = { x = 1.0", "acceleration = { x = 0.002");
    let tuned = tuned(edge(1200).as_bytes(), &trim_job(slow), &[Part::Feeds]);
    holds(&tuned);
    assert!(text(&tuned).contains("F1310\n"), "{}", text(&tuned));
    assert!(tuned.steps[0].changes[0].why[0].contains("reached"), "{:?}", tuned.steps[0].changes);
}

#[test]
fn a_cut_without_a_ceiling_is_left_alone_and_the_key_named() {
    let job = trim_job(|job| job.replace(", tooth_ceiling = 0.120", ""));
    let tuned = tuned(edge(1000).as_bytes(), &job, &[Part::Feeds]);
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    let left = &tuned.steps[0].left;
    assert!(left.iter().any(|left| left.why.contains("laminate.panel.trim.tooth_ceiling")), "{left:?}");
}

#[test]
fn a_feed_that_plunges_too_is_left_alone() {
    let program = format!("{HEAD}G0 G43 H2 X77 Y50 Z5\nG1 Z-7 F600\nX123\nG0 Z5\nM30\n");
    let tuned = tuned(program.as_bytes(), &trim_job(|job| job), &[Part::Feeds]);
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    let left = &tuned.steps[0].left;
    assert!(left.iter().any(|left| left.why.contains("plunges")), "{left:?}");
}

#[test]
fn a_circled_hole_is_fed_as_fast_as_its_wall_allows() {
    let job = job_of(&fs::read(root().join("tests/jobs/open_plate.toml")).unwrap());
    let program = "G21 G90 G94 G17 G40 G49 G80\nT12 M6\nS6000 M3 M7\nG0 G43 H12 X20 Y20 Z5\nG0 X22\nG1 Z0.5 F200\n\
        G3 X22 I-2 Z-1\nG3 X22 I-2 Z-3\nG3 X22 I-2 Z-5\nG3 X22 I-2 Z-7\nG3 X22 I-2\nG1 X20\nG0 Z5\nM30\n";
    let tuned = tuned(program.as_bytes(), &job, &[Part::Feeds]);
    holds(&tuned);
    let now = operations(&tuned.after, &job);
    let share = now[0].feed.0 / now[0].held.as_ref().unwrap().most.0;
    assert!((0.88..=0.9001).contains(&share), "{share} of {now:?}\n{}", text(&tuned));
    // What is told to be saved is the way round, not the way down.
    let (told, saved) = (tuned.steps[0].changes[0].gain.unwrap(), tuned.steps[0].seconds.0 - tuned.steps[0].seconds.1);
    assert!((told - saved).abs() < 0.1 * saved + 0.2, "{told} s told, {saved} s saved");
    assert!(now[0].held.as_ref().unwrap().limit.contains("at the wall"), "{now:?}");
}

#[test]
fn a_feed_that_the_check_refuses_is_tried_lower() {
    // Slower than the floor of 900 mm/min as posted; from stop to stop over 0.2 mm the machine reaches 849 mm/min.
    let stops: String = (1..=10).map(|step| format!("X{}\n", 50.0 + 0.2 * f64::from(step))).collect();
    let program = format!(
        "G21 G90 G94 G17 G40 G49 G80\nT2 M6\nS15000 M3 M7\nG0 G43 H2 X-20 Y105 Z5\nG0 Z-7\nG1 X50 F300\nG61.1\n{stops}\
         G64\nX220\nG0 Z5\nM30\n"
    );
    let tuned = tuned(program.as_bytes(), &trim_job(|job| job), &[Part::Feeds]);
    holds(&tuned);
    let change = tuned.steps[0].changes.first().unwrap_or_else(|| panic!("{:?}", tuned.steps));
    let why = change.why.join("\n");
    assert!(why.contains("which the check refuses") && why.contains("reached-feed-below-floor"), "{why}");
    assert!(tuned.after.seconds() < 0.6 * tuned.before.seconds(), "{}", text(&tuned));
}
