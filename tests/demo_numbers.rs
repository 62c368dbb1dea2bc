//! Numbers of the sample jobs that can be worked out by hand, read off their cuts.

use lastply::check::{Options, Report, check};
use lastply::job::{Job, NoFiles};
use lastply::motion::Cause;
use lastply::operation::{Cut, Path, Stretch};
use lastply::process::CutReading;
use lastply::source::{NoLibrary, Source};
use std::fs;

/// Runs a program with the job of a folder, and keeps the stretches of its cuts.
fn run(job: &str, program: Source) -> (Job, Report) {
    let path = format!("{}/programs/{job}.job.toml", env!("CARGO_MANIFEST_DIR"));
    let job = Job::load(&Source::new("job.toml", fs::read(path).unwrap()), &NoFiles).unwrap();
    let options = Options { keep_stretches: true, ..Options::of_job(Some(&job)).unwrap() };
    let report = check(program, Some(&job), &NoLibrary, &options);
    (job, report)
}

/// Runs a sample program, named from its folder.
fn sample(job: &str, ending: &str) -> (Job, Report) {
    let path = format!("{}/programs/{job}{ending}.nc", env!("CARGO_MANIFEST_DIR"));
    run(job, Source::new("sample.nc", fs::read(path).unwrap()))
}

const HATCH: &str = "hatch/hatch_op40";

/// Every stretch of tool 3 with its reading.
fn stretches(job: &Job, report: &Report) -> Vec<(Stretch, CutReading)> {
    let of = |cut: &Cut| cut.stretches.iter().copied().zip(CutReading::of(cut, job)).collect::<Vec<_>>();
    report.survey.cuts.iter().filter(|cut| cut.tool == 3).flat_map(of).collect()
}

fn close(found: f64, wanted: f64, by: f64) {
    assert!((found - wanted).abs() <= by, "{found} against {wanted}");
}

/// From stop to stop over L at acceleration a the peak is sqrt(a L): 15.81 mm/s over 0.25 mm and 22.36 mm/s over 0.5 mm
/// at 1 m/s2, that is 949 and 1342 mm/min, 0.040 and 0.056 mm for each of two edges at 12000 rev/min.
#[test]
fn exact_stops_hold_short_moves_back() {
    let (job, report) = sample(HATCH, "_faulty");
    let held = |least: f64, most: f64| {
        let all = stretches(&job, &report);
        let length = |stretch: &Stretch| stretch.length / f64::from(stretch.moves);
        let stopped = all.into_iter().filter(|(stretch, _)| {
            stretch.moves > 5
                && matches!(stretch.reached, Some((.., Cause::ExactStop)))
                && (least..most).contains(&length(stretch))
        });
        stopped
            .map(|(stretch, reading)| (stretch.reached.unwrap().0, reading.reached_per_tooth.unwrap().0))
            .collect::<Vec<_>>()
    };
    let (quarter, half) = (held(0.2, 0.3), held(0.4, 0.6));
    assert!(!quarter.is_empty() && !half.is_empty(), "{quarter:?} {half:?}");
    for (peak, tooth) in quarter {
        close(peak, 948.7, 0.1);
        close(tooth, 0.0395, 0.0001);
    }
    for (peak, tooth) in half {
        close(peak, 1341.6, 0.1);
        close(tooth, 0.0559, 0.0001);
    }
}

/// Where an exact stop lets a move out of the speed plan at once, after a plunge that could have been a hole, the cut is
/// told all the same, and the cuts after it.
#[test]
fn an_exact_stop_after_a_plunge_keeps_its_cut() {
    let program = "%\nG21 G17 G90 G94 G98 G40 G49 G80\nG54\nM51\nT3 M6\nS12000 M3\nG0 X-20. Y540.\nG43 H3 Z50.\nG4 P3.\nZ2.\n\
        G1 Z-27.5 F2000.\nG61\nG1 Y416. F2400.\nG1 X-20.25\nG1 X-20.5\nG0 Z30.\nG64\nG0 X20. Y540.\nZ2.\nG1 Z-27.5 F2000.\n\
        G1 Y416. F2400.\nG0 Z30.\nM5\nM59\nM30\n%\n";
    let (_, report) = run(HATCH, Source::new("a.nc", program));
    assert_eq!(report.survey.cuts.len(), 2);
    for stretch in report.survey.cuts.iter().flat_map(|cut| &cut.stretches) {
        assert!(stretch.reached.is_some(), "{stretch:?}");
    }
}

/// The centre goes round a slot end of R11 at R5, so the wall moves 11/5 = 2.2 times as fast: F1091 keeps 0.100 mm for
/// each edge there, F2400 makes 0.220. Round the panel's corners the centre goes at R66 about a wall of R60.
#[test]
fn walls_of_arcs_see_another_feed() {
    for (ending, slot_end) in [("", 0.1000), ("_faulty", 0.2200)] {
        let (job, report) = sample(HATCH, ending);
        let on = |wanted: f64| {
            let all = stretches(&job, &report).into_iter();
            let found: Vec<_> = all
                .filter(
                    |(stretch, _)| matches!(stretch.path, Path::Arc { radius, .. } if (radius - wanted).abs() < 0.01),
                )
                .collect();
            assert!(!found.is_empty(), "R{wanted}");
            found
        };
        for (_, reading) in on(5.0) {
            close(reading.wall_factor, 2.2, 1e-9);
            close(reading.per_tooth.unwrap().0, slot_end, 0.0001);
        }
        for (_, reading) in on(66.0) {
            close(reading.wall_factor, 60.0 / 66.0, 1e-9);
            close(reading.per_tooth.unwrap().0, 0.0909, 0.0001);
        }
    }
}

/// 0.8 mm are needed to reach F2400, 40 mm/s, at 1 m/s2: v^2 / 2a to speed up. The outline's long sides reach it.
#[test]
fn long_sides_reach_their_feed() {
    let (job, report) = sample(HATCH, "");
    let long = stretches(&job, &report).into_iter().filter(|(stretch, _)| stretch.length > 100.0);
    let mut count = 0;
    for (stretch, _) in long {
        let (least, ..) = stretch.reached.unwrap();
        close(least, stretch.feed.unwrap(), 0.5);
        count += 1;
    }
    assert!(count >= 4, "{count}");
}

/// A 16 mm router opens 26 mm on a centre circle of 10 mm: the wall moves 26 / (26 - 16) = 2.6 times as fast, so that
/// F231 at 6000 rev/min is 0.050 mm for each of two edges there and F600 is 0.130.
#[test]
fn orbits_are_judged_at_the_wall() {
    for (ending, tooth) in [("", 0.0500), ("_faulty", 0.1300)] {
        let (_, report) = sample("root_plate/root_plate_op20", ending);
        let recipes = report.survey.recipes.iter().zip(&report.readings);
        let orbits: Vec<_> = recipes.filter(|(recipe, _)| recipe.tool == 12).collect();
        assert!(!orbits.is_empty());
        for pass in orbits.iter().flat_map(|(_, reading)| &reading.passes) {
            close(pass.per_rev.unwrap().per_tooth(2).0, tooth, 0.0001);
        }
    }
}

/// The relief in bare foam is cut at 0.025 mm for each edge, half the floor of the skins, and only core is cut.
#[test]
fn foam_has_no_floor() {
    let (job, report) = sample(HATCH, "");
    let core: Vec<_> = stretches(&job, &report).into_iter().filter(|(_, reading)| reading.core_only).collect();
    assert!(core.iter().map(|(stretch, _)| stretch.length).sum::<f64>() > 150.0);
    for (_, reading) in core {
        close(reading.per_tooth.unwrap().0, 0.025, 1e-9);
        assert_eq!(reading.floor, None);
    }
}
