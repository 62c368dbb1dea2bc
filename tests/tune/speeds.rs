//! Spindle speeds under a life law.

use super::{HEAD, Part, holds, plate_job, text, tuned, without};
use crate::tune::cuts::{edge, trim_job};
use lastply::check::{Options, check};
use lastply::job::Job;
use lastply::source::{NoLibrary, Source};

/// The trim job whose diamond router has a life, a law of it, and some number of parts to last.
fn lasting(metres: f64, parts: u32) -> Job {
    let life =
        format!("life = {{ metres = {metres}, law = {{ at = 300, exponent = 2, up_to = 600, source = \"T-9\" }} }}");
    trim_job(move |job| {
        let tool = "label = \"diamond router 10\"\n";
        format!("{}\n[tune]\nparts = {parts}\n", job.replacen(tool, &format!("{tool}{life}\n"), 1))
    })
}

/// The S that a program turns at.
fn speed(text: &str) -> f64 {
    let word = text.split_whitespace().find_map(|word| word.strip_prefix('S'));
    word.unwrap().trim_end_matches('.').parse().unwrap()
}

#[test]
fn a_speed_rises_to_its_band_less_the_margin_and_the_chip_stays() {
    let tuned = tuned(edge(1000).as_bytes(), &lasting(60.0, 1), &[Part::Speeds]);
    holds(&tuned);
    // 600 m/min on 10 mm is 19 098 rev/min, less 10 % 17 188; the machine turns 18 000.
    let text = text(&tuned);
    assert!(text.contains("S17100 M3") && text.contains("G1 X220 F1710\n"), "{text}\n{:?}", tuned.steps);
    let why = tuned.steps[0].changes[0].why.join("\n");
    for words in [
        "speed band to 600 m/min",
        "laminate.panel.speeds",
        "less 10 % margin",
        "T-9",
        "then 1 part (part.job.toml: tune.parts)",
    ] {
        assert!(why.contains(words), "{words} in {why}");
    }
    assert!((tuned.steps[0].changes[0].gain.unwrap() - (tuned.before.seconds() - tuned.after.seconds())).abs() < 1e-9);
}

#[test]
fn feeds_go_on_to_their_ceiling_at_the_new_speed() {
    let tuned = tuned(edge(1000).as_bytes(), &lasting(60.0, 1), &[Part::Speeds, Part::Feeds]);
    holds(&tuned);
    // 0.12 mm/tooth, 2 edges, 17 100 rev/min: 4104 mm/min, less 10 %.
    assert!(text(&tuned).contains("G1 X220 F3690\n"), "{}", text(&tuned));
}

#[test]
fn the_life_that_the_parts_need_holds_a_speed() {
    let job = lasting(10.0, 20);
    let tuned = tuned(edge(1000).as_bytes(), &job, &[Part::Speeds]);
    holds(&tuned);
    // 20 parts of a good 0.2 m need about 0.4 of the life: 300 / sqrt(0.4) = 474 m/min, less 10 % 13 600 rev/min.
    let metres: f64 = tuned.before.survey.tools.iter().map(|used| used.cut_length / 1000.0).sum();
    let turns = 1000.0 * 0.9 * 300.0 * (10.0 / (20.0 * metres)).sqrt() / (std::f64::consts::PI * 10.0);
    assert!((0.99 * turns..=turns).contains(&speed(&text(&tuned))), "{turns}: {}", text(&tuned));
    let why = &tuned.steps[0].changes[0].why;
    assert!(why[0].contains("life that still makes") && why[0].contains("tool.2.life.law, T-9"), "{why:?}");
    assert!(why.iter().any(|line| line.contains("20 parts (part.job.toml: tune.parts)")), "{why:?}");
}

#[test]
fn a_life_that_is_needed_as_it_is_leaves_the_speed_alone() {
    let tuned = tuned(edge(1000).as_bytes(), &lasting(3.0, 20), &[Part::Speeds]);
    assert!(tuned.diff().is_empty(), "{}", text(&tuned));
    let left = &tuned.steps[0].left;
    assert!(left.iter().any(|left| left.why.contains("leaves nothing to spend")), "{left:?}");
}

/// Two holes with the drill that has a law.
fn two_holes(between: &str) -> String {
    let head = HEAD.replace("T6", "T14").replace("H6", "H14");
    format!("{head}N60 G99 G81 X20. Y20. Z-8.303 R2. F318.\n{between}N70 X30.\nN80 G80\nN90 M30\n")
}

#[test]
fn a_drill_turns_no_faster_than_its_law_was_tried() {
    let wide =
        |job: String| without("plate = ")(job.replace("diamond-coated = [80, 200]", "diamond-coated = [80, 300]"));
    let tuned = tuned(two_holes("").as_bytes(), &plate_job(wide), &[Part::Speeds]);
    holds(&tuned);
    // 200 m/min on 6 mm is 10 610 rev/min; the feed for each turn stays 0.05 mm.
    let text = text(&tuned);
    assert!(text.contains("S10600 M3") && text.contains("F529.5"), "{text}\n{:?}", tuned.steps);
    let change = &tuned.steps[0].changes[0];
    assert!(change.holes == 2 && change.why[0].contains("life law tried to 200 m/min"), "{change:?}");
}

#[test]
fn words_that_serve_others_too_are_left_alone() {
    let job = plate_job(without("plate = "));
    let cases = [
        ("N61 G80\nN62 S5000\nN63 G4 P2.5\nN64 G99 G81 X25. Y20. Z-8.303 R2.\n", "the same F"),
        ("N61 G80\nN62 T9 M6\nN63 G4 P2.5\nN64 G0 G43 H9 X25. Y20. Z5.\nN65 G99 G81 Z-8.303 R2. F318.\n", "the same S"),
    ];
    for (between, why) in cases {
        let tuned = tuned(two_holes(between).as_bytes(), &job, &[Part::Speeds]);
        assert!(tuned.diff().is_empty(), "{why}: {}", text(&tuned));
        let left = &tuned.steps[0].left;
        assert!(left.iter().any(|left| left.what.contains("T14") && left.why.contains(why)), "{why}: {left:?}");
    }
}

#[test]
fn a_life_law_says_nothing_beyond_the_speeds_it_was_tried_at() {
    let job = plate_job(|job| job);
    let options = Options::of_job(Some(&job)).unwrap();
    let at = |speed: &str| {
        let program = two_holes("").replace("S6366", speed);
        let report = check(Source::new("part.nc", program), Some(&job), &NoLibrary, &options);
        let mut missing =
            report.not_checked.iter().filter(|missing| missing.rule == "tool-life-exceeded" && missing.needed);
        missing.any(|missing| missing.key.as_deref() == Some("tool.14.life.law"))
    };
    assert!(at("S11000") && at("S[#1]") && !at("S9000"));
}
