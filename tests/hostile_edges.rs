//! Trimming that cannot be: it ends in findings, not in a panic or without end.

use lastply::check::{Options, Report, check};
use lastply::job::{Job, NoFiles};
use lastply::source::{NoLibrary, Source};

/// Checks a body with a tool beside the panel of the trim job, after one change of the job.
fn trim(old: &str, new: &str, body: &str) -> Report {
    let text = include_str!("jobs/trim.toml");
    assert!(text.contains(old));
    let job = Job::load(&Source::new("job.toml", text.replacen(old, new, 1)), &NoFiles).unwrap();
    let options = Options { keep_stretches: true, ..Options::of_job(Some(&job)).unwrap() };
    let head = "G21 G90 G94 G17 G40 G49 G80 G54\nT2 M6\nS15000 M3 M7\nG0 G43 H2 X-20. Y105. Z5.\n";
    let program = format!("{head}{body}G0 Z5.\nM30\n");
    check(Source::new("edge.nc", program.as_bytes()), Some(&job), &NoLibrary, &options)
}

fn rules(report: &Report) -> Vec<&'static str> {
    report.findings.iter().map(|finding| finding.rule).collect()
}

/// A router of 300 mm clears the panel of 200 x 100 whole: it is engaged from where its rim meets the raw margin.
#[test]
fn a_tool_wider_than_the_panel_is_judged_like_any_other() {
    let wide = "label = \"diamond router 300\"\ndiameter = 300.0";
    let body = "G0 X-200. Y50.\nG0 Z-7.\nG1 X400. F2000.\n";
    let report = trim("label = \"diamond router 10\"\ndiameter = 10.0", wide, body);
    let cut = &report.survey.cuts[0];
    let most = cut.stretches.iter().filter_map(|stretch| stretch.engagement).map(|(_, most)| most).fold(0.0, f64::max);
    // 120 mm of panel and margin across 300 mm of tool.
    let across = 2.0 * f64::asin(120.0 / 300.0).to_degrees();
    assert!((most - across).abs() < 1.0, "{most} for {across}");
    assert!(rules(&report).contains(&"surface-speed-outside-band"));
}

/// Inside an arc of 3 mm a tool of 5 mm radius has no path; the control would stop there, and so does the reading.
#[test]
fn compensation_inside_an_arc_smaller_than_the_tool_is_a_finding() {
    let body = "G0 X60. Y60.\nG41 D2 G1 X80. Z-7. F1000.\nX100.\nG3 X100. Y66. J3.\nG1 X80.\nG40 X60.\n";
    let report = trim("life = { metres = 60 }", "life = { metres = 60 }", body);
    let finding = report.findings.iter().find(|finding| finding.rule == "compensation-impossible").unwrap();
    assert_eq!(finding.message, "inside arc of a radius not above that of the tool");
}

/// Forty thousand moves of 5 um along the edge, each under exact stop.
#[test]
fn tiny_moves_under_exact_stop_end_in_one_finding() {
    let moves: String = (0..40_000).map(|count| format!("X{:.3}\n", f64::from(count) * 0.005)).collect();
    let report =
        trim("life = { metres = 60 }", "life = { metres = 60 }", &format!("G0 Z-7.\nG1 F2000.\nG61\n{moves}G64\n"));
    let slow = report.findings.iter().filter(|finding| finding.rule == "reached-feed-below-floor").count();
    assert_eq!(slow, 1, "{:?}", rules(&report));
}
