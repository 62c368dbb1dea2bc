//! Laws fitted to drilling trials: they find what the trials hold, say how sure they are, and refuse what tells nothing.

use lastply::job::{JobError, Trials};
use lastply::render;
use lastply::source::Source;
use lastply::tune::fit::{Fit, Unfit, fit};
use lastply::units::{Millimetres, MmPerRev};
use proptest::prelude::*;
use std::path::Path;

const HEAD: &str = "feed_mm_rev,diameter_mm,holes,thrust_N\n";

fn read(text: &str) -> Result<Trials, Vec<JobError>> {
    Trials::load(&Source::new("trials.csv", text))
}

fn fitted(text: &str) -> Result<Fit, Unfit> {
    fit(&read(text).unwrap_or_else(|errors| panic!("{}", told(&errors))))
}

/// Faults as a person would read them, with the text pointed at.
fn told(errors: &[JobError]) -> String {
    let line = |error: &JobError| {
        let at = String::from_utf8_lossy(error.span.of(&error.file.bytes)).into_owned();
        let help = error.help.as_deref().map(|help| format!("    help: {help}\n")).unwrap_or_default();
        format!("{}\n    at: {at}\n{help}", error.message)
    };
    errors.iter().map(line).collect()
}

/// Rows of a law without scatter: every feed at every diameter, each with other holes before it.
fn rows(c: f64, m: f64, p: f64, k: f64) -> String {
    let mut text = HEAD.to_owned();
    for (index, diameter) in [5.0f64, 6.0, 8.0].iter().enumerate() {
        for (turn, feed) in [0.02f64, 0.035, 0.05, 0.08].iter().enumerate() {
            let holes = ((index * 7 + turn * 5) % 11) as f64 * 10.0;
            let thrust = c * feed.powf(m) * diameter.powf(p) * (k * holes).exp();
            text += &format!("{feed},{diameter},{holes},{thrust}\n");
        }
    }
    text
}

proptest! {
    /// Trials without scatter give back the law they were made of.
    #[test]
    fn a_law_is_found_again(c in 20.0f64..800.0, m in 0.1f64..1.2, p in 0.2f64..1.5, k in 0.0f64..0.004) {
        let fit = fitted(&rows(c, m, p, k)).unwrap();
        for (symbol, value) in [('c', c), ('m', m), ('p', p), ('k', k)] {
            let found = fit.law.term(symbol);
            prop_assert!((found - value).abs() <= 1e-9 * value.max(1.0), "{symbol}: {found} is not {value}");
        }
        let thrust = fit.law.predict(MmPerRev(0.05), Millimetres(6.0), 0.0).0.0;
        prop_assert!((thrust / (c * 0.05f64.powf(m) * 6f64.powf(p)) - 1.0).abs() < 1e-9);
    }

    /// Any bytes end in trials or in faults inside the text, and trials in a law or a reason.
    #[test]
    fn damage_never_panics(at in 0usize..900, cut in 0usize..30, put in "[ -~\n;\u{e9}]{0,12}") {
        let text = sample_text();
        let floor = |mut at: usize| {
            at = at.min(text.len());
            while !text.is_char_boundary(at) { at -= 1; }
            at
        };
        let damaged = format!("{}{put}{}", &text[..floor(at)], &text[floor(at + cut)..]);
        match read(&damaged) {
            Ok(trials) => if let Ok(fit) = fit(&trials) {
                prop_assert!(render::fit(&fit, &trials, Some(6)).parse::<toml::Table>().is_ok());
            },
            Err(errors) => for error in errors {
                prop_assert!(error.span.end as usize <= damaged.len() + 1, "{error:?}");
            },
        }
    }
}

fn sample_path() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("programs/root_plate/drill_trials.csv")
}

fn sample_text() -> String {
    std::fs::read_to_string(sample_path()).unwrap()
}

fn sample() -> Trials {
    Trials::load(&Source::new("drill_trials.csv", sample_text())).unwrap()
}

/// The sample was drawn from c 95, m 0.62, p 0.9 and 0.16 % a hole, with 3 % of scatter.
#[test]
fn intervals_of_the_sample_hold_what_it_was_drawn_from() {
    let fit = fit(&sample()).unwrap();
    for (symbol, value) in [('c', 95.0), ('m', 0.62), ('p', 0.9), ('k', 0.0016)] {
        let term = fit.law.terms.iter().find(|term| term.symbol == symbol).unwrap();
        assert!((term.interval.0..=term.interval.1).contains(&value), "{term:?} does not hold {value}");
    }
    assert!((0.02..0.04).contains(&fit.law.spread), "{}", fit.law.spread);
}

#[test]
fn a_whole_law_of_the_sample() {
    let trials = sample();
    let text = render::fit(&fit(&trials).unwrap(), &trials, Some(11));
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");
    insta::assert_snapshot!(text);
}

/// The demo job holds the law exactly as `fit` prints it, and the job that takes it in loads.
#[test]
fn the_demo_tool_uses_the_law_of_the_sample() {
    let trials = sample();
    let text = render::fit(&fit(&trials).unwrap(), &trials, Some(11));
    let table = &text[text.find("[tool.11.thrust]").unwrap()..];
    let job = sample_path().with_file_name("root_plate_op20.job.toml");
    assert!(std::fs::read_to_string(job).unwrap().contains(table), "the job lacks\n{table}");
}

#[test]
fn a_hole_far_off_is_named() {
    let mut lines: Vec<String> = rows(400.0, 0.5, 0.8, 0.001).lines().map(str::to_owned).collect();
    // A scatter of some tenths of a per cent, and row 6 a quarter above.
    for (index, line) in lines.iter_mut().enumerate().skip(1) {
        let (start, thrust) = line.rsplit_once(',').unwrap();
        let factor = if index == 5 { 1.25 } else { 1.0 + 0.004 * ((index * 37 % 11) as f64 - 5.0) / 5.0 };
        *line = format!("{start},{}", thrust.parse::<f64>().unwrap() * factor);
    }
    let fit = fitted(&lines.join("\n")).unwrap();
    let outliers: Vec<u64> =
        fit.law.trials.iter().filter(|trial| trial.outlier).map(|trial| trial.trial.line).collect();
    assert_eq!(outliers, [6]);
}

#[test]
fn units_of_the_header_count() {
    let trials = sample();
    let mut inch = "feed_in_rev;diameter_in;holes;thrust_lbf\r\n".to_owned();
    for row in &trials.rows {
        let line = format!(
            "{};{};{};{}\r\n",
            row.feed.0 / 25.4,
            row.diameter.0 / 25.4,
            row.holes.unwrap(),
            row.thrust.0 / 4.448_221_615_260_5
        );
        inch += &line.replace('.', ",");
    }
    let (metric, inch) = (fit(&trials).unwrap(), fitted(&format!("\u{feff}{inch}")).unwrap());
    for (one, other) in metric.law.terms.iter().zip(&inch.law.terms) {
        assert!((one.value / other.value - 1.0).abs() < 1e-9, "{one:?} and {other:?}");
    }
}

#[test]
fn faults_name_row_and_column() {
    let sound = "0.02,6,0,60\n0.08,6,1,120\n";
    let cases = [
        "feed_mm_rev,diameter_mm,thrust\n0.02,6,60\n".to_owned(),
        "feed_mm_rev,diameter_mm,feed_in_rev,thrust_N\n0.02,6,0.001,60\n".to_owned(),
        format!("{HEAD}{sound}0.05,6,2,abc\n"),
        format!("{HEAD}{sound}0.05,6,2,0\n0.05,6,2,-4\n"),
        format!("{HEAD}{sound}0.05,6,2,20 lbf\n0.05 mm/rev,6,2,90 N\n"),
        format!("{HEAD}{sound}0.05,,2,90\n0.05,6\n"),
        "feed_mm_rev,diameter_mm,thrust_N,delamination_factor\n0.02,6,60,0.9\n".to_owned(),
        format!("{HEAD}{}", "0.05,6,2,x\n".repeat(25)),
        String::new(),
        "feed_mm_rev,diameter_mm,thrust_N\n0.02;10;69\n0.05;10;120\n".to_owned(),
        "feed_mm_rev;diameter_mm;thrust_N\n0.02,10,69\n".to_owned(),
        "feed_mm_rev;diameter_mm;thrust_N\n0,02;10,5\n".to_owned(),
        "feed_mm_min,diameter_mm,thrust_N\n20,10,69\n".to_owned(),
        format!("{HEAD}{sound}0.05,6,2,nan\n"),
    ];
    let all: Vec<String> = cases.iter().map(|case| told(&read(case).unwrap_err())).collect();
    let mut settings = insta::Settings::clone_current();
    settings.set_omit_expression(true);
    settings.bind(|| insta::assert_snapshot!(all.join("\n")));
}

#[test]
fn trials_that_tell_nothing_say_what_to_measure() {
    let why = |text: &str| fitted(text).unwrap_err().to_string();
    let head = "feed_mm_rev,diameter_mm,thrust_N\n";
    assert_eq!(
        why(&format!("{head}0.02,6,60\n0.08,6,120\n")),
        "2 trials give no law of 2 coefficients: measure 3 or more"
    );
    assert_eq!(
        why(&format!("{head}0.05,6,60\n0.05,6,61\n0.05,6,62\n")),
        "all trials have one feed, 0.05 mm/rev: vary the feed"
    );
    let together = why(&format!("{head}0.02,5,60\n0.08,6,120\n0.02,5,61\n0.08,6,119\n"));
    assert!(together.starts_with("diameter goes with the other columns"), "{together}");
    let falling = why(&format!("{head}0.02,6,120\n0.04,6,100\n0.08,6,60\n"));
    assert!(falling.starts_with("thrust does not rise with feed"), "{falling}");
}

/// One hole of 1400 N among holes of 69 to 200 N: a law would be drawn through chance.
#[test]
fn a_law_that_may_fall_is_refused_with_the_row_to_look_at() {
    let head = "feed_mm_rev,diameter_mm,thrust_N\n";
    let rows = |far: u32| {
        format!("{head}0.02,10,69\n0.05,10,120\n0.1,12,200\n0.03,12,90\n0.06,12,{far}\n0.08,10,150\n0.02,12,75\n")
    };
    assert_eq!(
        fitted(&rows(1400)).unwrap_err().to_string(),
        "these trials do not show that thrust rises with feed (exponent 0.887, interval -0.792 to 2.567): no exit feed \
         follows from them; look at row 6, which lies furthest from the law, or measure more holes at more feeds"
    );
    assert!(fitted(&rows(140)).is_ok());
}

#[test]
fn thrust_that_falls_with_diameter_is_told() {
    let law = |p: f64| {
        let trials = read(&rows(400.0, 0.5, p, 0.0)).unwrap();
        render::fit(&fit(&trials).unwrap(), &trials, None)
    };
    assert!(law(-0.8).contains("# thrust falls with diameter"), "{}", law(-0.8));
    assert!(!law(0.8).contains("falls with diameter"), "{}", law(0.8));
}

/// The factor is measured on new edges only, thrust over the whole life: wear is told of thrust alone.
#[test]
fn the_factor_has_wear_only_where_its_own_trials_show_it() {
    let table = |measured: fn(usize) -> bool| {
        let mut text = "feed_mm_rev,diameter_mm,holes,thrust_N,delamination_factor\n".to_owned();
        for holes in 0..12 {
            for feed in [0.02f64, 0.04, 0.06, 0.08] {
                let thrust = 400.0 * feed.powf(0.5) * (0.01 * f64::from(holes)).exp();
                let factor = 1.0 + feed + 0.002 * f64::from(holes);
                let factor = if measured(holes as usize) { factor.to_string() } else { String::new() };
                text += &format!("{feed},6,{holes},{thrust},{factor}\n");
            }
        }
        text
    };
    let line = |measured| fitted(&table(measured)).unwrap().delamination.unwrap().unwrap();
    let new = line(|holes| holes == 0);
    assert!(!new.shows_wear() && (new.term('b') - 1.0).abs() < 1e-9, "{new:?}");
    let worn = line(|holes| holes < 2);
    assert!(worn.shows_wear() && (worn.term('g') - 0.002).abs() < 1e-9, "{worn:?}");
}

#[test]
fn one_diameter_gives_a_law_for_it_alone() {
    let text = "feed_mm_rev,diameter_mm,thrust_N\n0.02,6,60\n0.04,6,85\n0.08,6,119\n";
    let trials = read(text).unwrap();
    let fit = fit(&trials).unwrap();
    let letters: String = fit.law.terms.iter().map(|term| term.symbol).collect();
    assert_eq!(letters, "cm");
    let printed = render::fit(&fit, &trials, None);
    assert!(printed.contains("diameters = [\"6 mm\", \"6 mm\"]") && printed.contains("[tool.N.thrust]"), "{printed}");
}

#[test]
fn the_picture_shows_every_trial_and_is_the_same_each_time() {
    let trials = sample();
    let fit = fit(&trials).unwrap();
    let picture = render::plot(&fit, &trials).unwrap();
    assert_eq!(picture, render::plot(&fit, &trials).unwrap());
    assert!(picture.starts_with("<svg") && picture.trim_end().ends_with("</svg>"));
    // 12 holes of 10 mm as circles, 12 of 12 mm as triangles, and 24 circles of the delamination factor.
    assert_eq!(picture.matches("<circle").count(), 12 + 24);
    for words in ["feed, mm/rev", "thrust over the wear factor, N", "12 mm", "delamination, as of a new edge"] {
        assert!(picture.contains(words), "{words}");
    }
}
