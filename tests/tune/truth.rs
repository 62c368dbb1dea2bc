//! What is told of a change stands in the text, and nothing is proposed that costs time or cannot be reckoned.

use super::{HEAD, Part, holds, job_of, lines_with, plate_job, root, text, tuned, without};
use lastply::job::Job;
use lastply::tune::{Step, Tuned};
use std::fs;

/// What the changes of a step tell to be saved, beside what the replay saves.
fn told(step: &Step) -> (f64, f64) {
    (step.changes.iter().filter_map(|change| change.gain).sum(), step.seconds.0 - step.seconds.1)
}

fn reasons(tuned: &Tuned) -> String {
    let left = tuned.steps.iter().flat_map(|step| &step.left);
    left.map(|left| format!("{}, because {}\n", left.what, left.why)).collect()
}

fn plate() -> Job {
    plate_job(without("plate = "))
}

/// Two tools call one subprogram with holes that each may be fed faster.
const SHARED: &str = "N60 M98 P7\nN70 G0 Z50.\nN80 T9 M6\nN90 S6366 M3 M7\nN100 G4 P2.5\nN110 G0 G43 H9 X20. Y20. Z5.\n\
                      N120 M98 P7\nN130 G0 Z50.\nN140 M30\nO7\nG99 G81 X60. Y20. Z-8.303 R2. F100.\nG80\nM99\n";

#[test]
fn what_a_patch_does_not_carry_out_is_left_alone_with_its_reason() {
    for part in [Part::Feeds, Part::Exit] {
        let row = "N55 G99 G81 X20. Y20. Z-8.303 R2. F120.\nN56 X30.\nN57 G80\n";
        let tuned = tuned(format!("{HEAD}{row}{SHARED}").as_bytes(), &plate(), &[part]);
        holds(&tuned);
        let [step] = tuned.steps.as_slice() else { panic!() };
        assert_eq!(step.changes.iter().map(|change| change.holes).sum::<usize>(), 2, "{:?}", step.changes);
        assert!(reasons(&tuned).contains("a repeat or another call of its block"), "{}", reasons(&tuned));
        let (told, saved) = told(step);
        assert!((told - saved).abs() < 1e-6, "{told} s told, {saved} s saved");
    }
}

#[test]
fn a_feed_beside_a_faster_one_gets_what_was_reckoned_for_it() {
    // 500 mm/min is inside the ceiling but not inside the margin: it stays, and lends itself to nobody.
    let job = plate_job(|job| without("exit = ")(without("entry = ")(without("plate = ")(job))));
    let program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.6 R2. F100.\nN70 X30. F500.\nN80 G80\nN90 M30\n");
    let tuned = tuned(program.as_bytes(), &job, &[Part::Feeds]);
    holds(&tuned);
    assert!(tuned.steps[0].changes[0].what.contains("becomes 458 mm/min"), "{:?}", tuned.steps);
    assert!(text(&tuned).contains("F458.") && text(&tuned).contains("N70 X30. F500."), "{}", text(&tuned));
}

#[test]
fn air_over_a_hole_that_is_fed_out_of_counts_on_both_ways() {
    let reamed = HEAD.replace("T6", "T8").replace("H6", "H8");
    let program = format!("{reamed}N60 G99 G85 X20. Y20. Z-8.303 R10. F100.\nN70 X30.\nN80 G80\nN90 M30\n");
    let tuned = tuned(program.as_bytes(), &plate(), &[Part::Air]);
    holds(&tuned);
    let (told, saved) = told(&tuned.steps[0]);
    assert!(saved > 0.0 && (told - saved).abs() < 1e-6, "{told} s told, {saved} s saved");
}

#[test]
fn a_program_whose_times_are_not_known_is_not_made_slower() {
    let row = "N60 G98 G81 X20. Y20. Z-8.303 R2. F100.\nN70 X60.\nN80 X90.\nN85 G80\nN90 M30\n";
    for shift in ["G55\n", "G10 L2 P1 X0. Y-300. Z0.\n"] {
        let tuned = tuned(format!("{HEAD}{shift}{row}").as_bytes(), &plate(), &Part::ALL);
        for step in &tuned.steps {
            assert!(step.seconds.1 <= step.seconds.0, "{step:?}");
        }
        holds(&tuned);
        assert!(
            reasons(&tuned).contains("it would save cannot be told") || reasons(&tuned).contains("would take"),
            "{}",
            reasons(&tuned)
        );
    }
    let known = tuned(format!("{HEAD}{row}").as_bytes(), &plate(), &[Part::Exit]);
    assert!(!known.diff().is_empty(), "{:?}", known.steps);
}

#[test]
fn where_the_program_jumps_no_line_comes_in() {
    let row = "N60 G99 G81 X20. Y20. Z-8.303 R10. F100.\nN70 X30.\nN80 G80\n";
    for part in [Part::Air, Part::Exit] {
        let jumping = tuned(format!("{HEAD}{row}N90 GOTO 110\nN110 M30\n").as_bytes(), &plate(), &[part]);
        assert!(jumping.diff().is_empty(), "{}", text(&jumping));
        assert!(reasons(&jumping).contains("the program jumps to block numbers"), "{}", reasons(&jumping));
        let straight = tuned(format!("{HEAD}{row}N110 M30\n").as_bytes(), &plate(), &[part]);
        assert!(!straight.diff().is_empty() && !reasons(&straight).contains("jumps"), "{}", reasons(&straight));
    }
}

#[test]
fn the_margin_of_the_process_counts_before_the_machine_does() {
    // The laminate allows 509 mm/min, less 10 % 458: a machine that ends between the two holds nothing.
    let job = |most: &str| {
        let most = format!("max_feed = {most}");
        plate_job(move |job| {
            let job = without("exit = ")(without("entry = ")(without("plate = ")(job)));
            job.replace("max_feed = 6000", &most)
        })
    };
    let program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.303 R2. F100.\nN80 G80\nN90 M30\n");
    let between = tuned(program.as_bytes(), &job("480"), &[Part::Feeds]);
    assert!(text(&between).contains("F458."), "{}", text(&between));
    let below = tuned(program.as_bytes(), &job("440"), &[Part::Feeds]);
    assert!(text(&below).contains("F440."), "{}", text(&below));
}

#[test]
fn air_over_holes_that_a_waiver_accepts_stays() {
    let program = format!("{HEAD}N60 G99 G81 X20. Y20. Z-8.303 R10. F600.\nN70 X30.\nN80 G80\nN90 M30\n");
    let open = tuned(program.as_bytes(), &plate(), &[Part::Air]);
    assert!(text(&open).contains("R2."), "{}", text(&open));
    let job = fs::read_to_string(root().join("tests/jobs/waived.toml")).unwrap();
    let waived = job_of(without("plate = ")(job.replace("0.06 mm/rev", "0.2 mm/rev")).as_bytes());
    let tuned = tuned(program.as_bytes(), &waived, &[Part::Air]);
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    assert!(reasons(&tuned).contains("waiver WV-1 speaks of them"), "{} {:?}", reasons(&tuned), tuned.before.findings);
}

fn long_hand(height: &str, down: &str) -> String {
    let hole = |x: u32| format!("G0 X{x}. Y20.\n{down}Z{height}\nG1 Z-8.303 F191.\nG0 Z50.\n");
    format!("{}{}M30\n", HEAD.replace("Z5.", "Z50."), [20, 30, 70].map(hole).concat())
}

#[test]
fn a_rapid_down_goes_lower_itself_instead_of_being_followed_by_another() {
    let tuned = tuned(long_hand("5.", "").as_bytes(), &plate(), &[Part::Air]);
    holds(&tuned);
    let text = text(&tuned);
    assert!(text.contains("\nZ2.\nG1 Z-8.303") && lines_with(&text, "Z5.").is_empty(), "{text}\n{}", reasons(&tuned));
    assert!(!text.contains("Z2.\nG0 Z2."), "{text}");
}

#[test]
fn a_rapid_down_that_does_more_keeps_its_place() {
    let tuned = tuned(long_hand("5.", "M8 ").as_bytes(), &plate(), &[Part::Air]);
    holds(&tuned);
    assert!(text(&tuned).contains("M8 Z5.\nG0 Z2.\nG1 Z-8.303"), "{}\n{}", text(&tuned), reasons(&tuned));
}

#[test]
fn a_millimetre_of_air_over_holes_written_move_by_move_is_spoken_of() {
    let tuned_from = |height: &str| tuned(long_hand(height, "").as_bytes(), &plate(), &[Part::Air]);
    let said = reasons(&tuned_from("3."));
    assert!(said.contains("air over 3 holes with T6, because 1 mm less of it is not worth a line more"), "{said}");
    assert!(!reasons(&tuned_from("2.2")).contains("worth a line"), "{}", reasons(&tuned_from("2.2")));
}

#[test]
fn stages_are_told_with_the_gain_of_all_their_holes() {
    let row =
        "N60 G99 G81 X20. Y20. Z-8.303 R2. F100.\nN70 X30.\nN80 G83 X60. Q20. F100.\nN90 X70.\nN95 G80\nN99 M30\n";
    let tuned = tuned(format!("{HEAD}{row}").as_bytes(), &plate(), &[Part::Exit]);
    holds(&tuned);
    let (told, saved) = told(&tuned.steps[0]);
    assert!(saved > 0.0 && (told - saved).abs() < 1e-6, "{told} s told, {saved} s saved");
}

#[test]
fn time_that_only_becomes_known_does_not_hide_behind_what_others_save() {
    let timed = "N60 G98 G81 X20. Y20. Z-8.303 R2. F100.\nX30.\nX70.\nX80.\nX90.\nX95.\nG80\n";
    let untimed = "G55\nG98 G81 X20. Y60. Z-8.303 R2. F120.\nX30.\nG80\nM30\n";
    let tuned = tuned(format!("{HEAD}{timed}{untimed}").as_bytes(), &plate(), &[Part::Exit]);
    holds(&tuned);
    let step = &tuned.steps[0];
    assert_eq!(step.changes.iter().map(|change| change.holes).sum::<usize>(), 6, "{step:?}");
    assert!(reasons(&tuned).contains("stages of 2 holes with T6, because where the tool comes from is not known"));
    let (told, saved) = told(step);
    assert!(saved > 0.0 && (told - saved).abs() < 1e-6, "{told} s told, {saved} s saved");
}

#[test]
fn a_tuned_program_has_nothing_left_to_tune() {
    // The cycle cannot come down to R2 over the clamp; its holes can, once their strokes are written out.
    let row = "G0 Z40.\nG99 G81 X20. Y0. Z-8.303 R36. F191.\nX80.\nX30.\nX120.\nG80\nG0 Z50.\nM30\n";
    let once = tuned(format!("{HEAD}{row}").as_bytes(), &plate(), &Part::ALL);
    holds(&once);
    let again = tuned(text(&once).as_bytes(), &plate(), &Part::ALL);
    assert!(again.diff().is_empty(), "{}\nbecomes\n{}", text(&once), text(&again));
    let parts: Vec<Part> = once.steps.iter().map(|step| step.part).collect();
    assert!(parts.iter().rposition(|part| *part == Part::Air) > parts.iter().position(|part| *part == Part::Exit));
    let pairs = once.steps.windows(2);
    assert!(pairs.into_iter().all(|pair| pair[0].seconds.1 == pair[1].seconds.0), "{:?}", once.steps);
}
